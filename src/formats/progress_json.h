// How an athlete gets on, "lintel-progress-1" (docs/schema/progress.schema.json).
#pragma once

#include <string>

#include "plan/follow_up.h"
#include "plan/load_guidance.h"

namespace lintel::formats {

struct ProgressDocument {
  std::string athlete_id, athlete_name;
  plan::AthleteFollowed followed;  // names, ladders, units of what `follow` speaks of
  plan::FollowUp follow;
  plan::LoadAdvice loads;
};

// Values of a test in its protocol's unit, named by the keys' ends; what there is not is null;
// steps counted from 1; "next_step" is null where somebody should be seen first. With the cautions.
std::string write_progress_json(const ProgressDocument& document);

}  // namespace lintel::formats
