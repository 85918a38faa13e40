// Plans as records: made from a visit, edited by hand, with their pages and calendars.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "app/record_access.h"
#include "base/progress.h"

namespace lintel::app {

// The body is a wish of formats/plan_record_json.h. The record is "lintel-plan-record-1"; its files
// are in the media folder. Errors: those of access, of the wish, of gather_visit and make_plan_of.
Result<Answer> create_plan(Practice& practice, const Caller& caller, std::string_view visit,
                           std::string_view wish, Faults& faults, const WorkContext& work);
// Answers show the plan as it may be followed today: a warning sign noted since takes loaded drills
// out (plan_for_now.h).
Result<Answer> show_plan(Practice& practice, const Caller& caller, std::string_view plan);
Result<std::string> list_plans(Practice& practice, const Caller& caller, std::string_view athlete,
                               const store::Page& page);

struct PlanChange {
  std::int64_t expected_version = 0;
  std::string_view update;  // formats::PlanUpdate
};
// Edits on the newest version, or an earlier version as it was, as a new one; every version stays.
// Pages and calendars are made again. Errors: Conflict also when a warning sign was noted since the
// plan was made.
Result<Answer> edit_plan(Practice& practice, const Caller& caller, std::string_view plan,
                         const PlanChange& change, Faults& faults, const WorkContext& work);

struct PlanFile {
  std::filesystem::path path;
  std::string media_type;
};
// An athlete gets the handout and the calendars only. Errors: NotFound; Conflict when a warning
// sign was noted after the plan was made: its pages would tell loaded drills.
Result<PlanFile> plan_file(Practice& practice, const Caller& caller, std::string_view plan,
                           std::string_view name);

// Re-tests and training days of the newest plan. Errors: NotFound when there is none.
Result<std::string> plan_calendar(Practice& practice, const Caller& caller,
                                  std::string_view athlete);

}  // namespace lintel::app
