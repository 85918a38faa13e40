// The athlete's page of one day, from plan, log and follow-up. No records are touched.
#pragma once

#include <string>
#include <vector>

#include "formats/today_json.h"
#include "plan/follow_up.h"
#include "plan/history.h"
#include "plan/plan.h"

namespace lintel::app {

struct TodayInput {
  std::string athlete_id, athlete_name, plan_id;
  const plan::Plan* plan = nullptr;  // held against today's warning signs; null = there is none
  std::vector<body::WarningSign> warning_signs;
  const plan::History* history = nullptr;
  const plan::FollowUp* follow = nullptr;  // at that day
  Date today;
};
// Drills at the step where the log says the athlete stands; none where somebody should be seen
// first.
formats::TodayPage today_page(const TodayInput& input, const std::vector<plan::Drill>& library);

}  // namespace lintel::app
