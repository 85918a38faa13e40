// Lists of the caseload as JSON and as CSV tables: athletes, timeline, trends, cohort.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "body/setup_likeness.h"
#include "plan/follow_up.h"

namespace lintel::formats {

enum class RowShows : std::uint8_t { Everything, NamesOnly };

struct CaseloadEntry {
  std::string athlete, name, birth_date, sex;
  std::vector<std::string> tags;
  std::int64_t version = 1;
  std::string last_visit, last_session, next_due, due_what, changed_at;
  std::optional<double> last_trunk_deg, last_trunk_error_deg;
};
struct CaseloadList {
  std::vector<CaseloadEntry> rows;
  std::string next;
  std::vector<std::pair<std::string, std::int64_t>> counts;  // of every view
  RowShows shows = RowShows::Everything;
};
std::string write_caseload_json(const CaseloadList& list);
std::string write_caseload_csv(const CaseloadList& list);

struct TimelineEntry {
  std::string record, kind, date, parent, state;
  std::int64_t version = 1;
  std::string created_by, changed_at;
};
std::string write_timeline_json(const std::vector<TimelineEntry>& rows);

// In which setup the clips of a series were filmed.
struct TrendSetup {
  bool own = true;                             // as the athlete's record has it
  std::vector<body::SetupDifference> differs;  // from that
};

enum class TrendSource : std::uint8_t { Test, Clip, Typed };

// One measure over time, in the unit it is written in.
struct TrendSeries {
  struct Point {
    std::string date, record;
    double value = 0.0, standard_error = 0.0;
    std::string method;  // of what was typed in: "eye", "inclinometer", ...
  };
  struct FanPoint {
    Date date;
    double value = 0.0, low = 0.0, high = 0.0;
  };
  std::string name, label, side, unit;  // side may be empty
  TrendSource source = TrendSource::Test;
  std::optional<TrendSetup> setup;  // of clips
  std::string better;               // "higher", "lower" or empty
  std::vector<Point> points;        // in order of date
  std::optional<double> detectable_change, change, target;
  std::optional<Date> target_date;
  plan::ChangeVerdict verdict = plan::ChangeVerdict::OneSession;
  std::vector<FanPoint> forecast;
};
std::string write_trends_json(const std::vector<TrendSeries>& series);
std::string write_trends_csv(const std::vector<TrendSeries>& series);

struct CohortRange {
  std::string band, side, unit;
  std::int64_t athletes = 0;
  double median = 0.0, low_quartile = 0.0, high_quartile = 0.0;
};
std::string write_cohort_range_json(std::string_view protocol,
                                    const std::vector<CohortRange>& rows);
std::string write_cohort_range_csv(std::string_view protocol, const std::vector<CohortRange>& rows);

struct CohortChange {
  std::string drill, name, protocol, unit;
  std::int64_t athletes = 0;
  double change_per_week = 0.0;
};
std::string write_cohort_change_json(std::string_view protocol,
                                     const std::vector<CohortChange>& rows);
std::string write_cohort_change_csv(const std::vector<CohortChange>& rows);

}  // namespace lintel::formats
