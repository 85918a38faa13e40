// What an athlete has to do on one day, for the page on their phone.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/date.h"
#include "plan/history.h"
#include "plan/plan.h"

namespace lintel::formats {

struct TodayItem {
  plan::PlannedDrill drill;  // at the step where the athlete stands now
  int sets = 1;              // of this week
  double time = 0.0;         // [s]
  std::optional<plan::DrillDone> done;
};
struct TodayPage {
  std::string athlete_id, athlete_name;
  Date date;
  std::string plan_id;      // empty = there is none
  std::optional<int> week;  // 1-based
  bool deload = false;
  bool stopped = false;  // a stop sign in the log: see somebody first
  plan::Clearance clearance = plan::Clearance::Full;
  std::string referral, message;
  std::vector<TodayItem> items;  // empty: rest
  std::optional<Date> next_session;
  std::vector<std::string> stop_rules;
  std::optional<plan::PlannedRetest> next_retest;
  int sessions_done = 0;
};
// With the cautions.
std::string write_today_json(const TodayPage& page);

}  // namespace lintel::formats
