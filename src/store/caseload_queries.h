// What the caseload screens and the cohort questions ask, answered by SQL.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "store/records.h"

namespace lintel::store {

enum class CaseloadView : std::uint8_t {
  All,
  Today,    // a visit on that day
  Due,      // a re-test or visit is due on or before that day
  Stalled,  // no session in the last 14 days although a plan runs, or no visit for 42 days
  New,      // taken in within the last 14 days
  Archived,
};
std::optional<CaseloadView> caseload_view_from(std::string_view name);  // "today", "due", ...

struct CaseloadRow {
  std::string athlete, name, birth_date, sex;
  std::vector<std::string> tags;
  std::int64_t version = 1;
  std::string last_visit, last_session, next_due, due_what, changed_at;  // ISO 8601 or empty
  std::optional<double> last_trunk_deg, last_trunk_error_deg;
};
struct CaseloadQuery {
  std::string organization;
  CaseloadView view = CaseloadView::All;
  std::string today;   // ISO 8601 day
  std::string search;  // parts of the name, any order, accents and case aside
  std::string tag;
};
struct CaseloadPage {
  std::vector<CaseloadRow> rows;  // by name; Due: the most overdue first
  std::string next;
};
Result<CaseloadPage> list_caseload(Transaction& t, const CaseloadQuery& query, const Page& page);
// How many athletes each view holds, in the order of CaseloadView.
Result<std::vector<std::int64_t>> count_views(Transaction& t, std::string_view organization,
                                              std::string_view today);

// Everything of one athlete with a day, the newest first, without documents.
struct TimelineRow {
  std::string record, kind, date, parent, state;
  std::int64_t version = 1;
  std::string created_by, changed_at;
};
Result<std::vector<TimelineRow>> athlete_timeline(Transaction& t, std::string_view organization,
                                                  std::string_view athlete, int limit);
// Every value of one athlete over time: tests ("knee_to_wall_distance", side) and measures of
// trials ("trunk_inclination", side empty), by name, side and date.
struct TrendRow {
  std::string name, side, date, unit, record;
  double value = 0.0, standard_error = 0.0;
};
Result<std::vector<TrendRow>> athlete_trends(Transaction& t, std::string_view organization,
                                             std::string_view athlete);

// ---- Cohort questions
struct CohortRow {  // median range by age band and side
  std::string band, side, unit;
  std::int64_t athletes = 0;
  double median = 0.0, low_quartile = 0.0, high_quartile = 0.0;
};
// The newest result up to `today` of each athlete and side; bands of ten years of age on that day
// ("20-29"; empty without a day of birth). Quartiles as percentile_cont of SQL has them.
Result<std::vector<CohortRow>> cohort_range(Transaction& t, std::string_view organization,
                                            std::string_view protocol, std::string_view today);
// Change a week of a test while a drill was done: from the newest test on or before its first day
// (or else the first after) to the first test on or after its last day (or else the newest).
struct DrillChangeRow {
  std::string drill, protocol, unit;
  std::int64_t athletes = 0;
  double change_per_week = 0.0;  // mean over athletes and sides
};
Result<std::vector<DrillChangeRow>> cohort_change_by_drill(Transaction& t,
                                                           std::string_view organization,
                                                           std::string_view protocol);

}  // namespace lintel::store
