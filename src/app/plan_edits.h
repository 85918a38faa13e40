// Edits of a plan by hand.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "formats/plan_record_json.h"
#include "plan/plan.h"

namespace lintel::app {

// Sets, repetitions, hold and step of planned drills, or a drill left out; the time of a drill
// follows its work. `note` goes into the plan's notes. Errors: Invalid with the field: a drill that
// is not in the plan, a step that it does not have, a session that takes longer than it may.
Result<plan::Plan> apply_edits(plan::Plan plan, const std::vector<formats::PlanEdit>& edits,
                               const std::vector<plan::Drill>& library, std::string note);

// The drill at another step of its ladder (in range).
void set_step(const plan::Drill& drill, int step, plan::PlannedDrill& planned);

}  // namespace lintel::app
