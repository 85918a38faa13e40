#include "app/trend_records.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "app/audit.h"
#include "app/library.h"
#include "app/log_records.h"
#include "app/plan_for_now.h"
#include "app/progress_followed.h"
#include "app/test_library.h"
#include "app/trend_setups.h"
#include "formats/caseload_json.h"
#include "formats/plan_record_json.h"
#include "formats/visit_json.h"
#include "kinematics/measurement.h"
#include "plan/test_follow_up.h"
#include "store/caseload_queries.h"

namespace lintel::app {
namespace {

using formats::TrendSeries;
using store::Record;
using store::RecordKind;

constexpr int kFanWeeks = 12;
constexpr double k95 = 1.96;
constexpr std::string_view kTrunk = "trunk_inclination";

// Tests have a side; measures of clips have none.
bool is_of_clip(const store::TrendRow& row) {
  return row.side.empty();
}

// Trials, in order of their days.
std::vector<std::string> trials_of(std::vector<store::TrendRow> rows) {
  std::stable_sort(rows.begin(), rows.end(),
                   [](const auto& a, const auto& b) { return a.date < b.date; });
  std::vector<std::string> out;
  for (const store::TrendRow& row : rows) {
    if (is_of_clip(row)) out.push_back(row.record);
  }
  return out;
}

TrendSeries series_of(const store::TrendRow& row) {
  TrendSeries series;
  series.name = row.name;
  series.side = row.side;
  series.unit = row.unit;
  return series;
}

// One series for each name, side and setup: the athlete's own setup first, then the one that was
// filmed last.
std::vector<TrendSeries> series_of_rows(const std::vector<store::TrendRow>& rows,
                                        const TrialSetups& setups) {
  std::vector<TrendSeries> out;
  for (auto row = rows.begin(); row != rows.end();) {
    const auto end = std::find_if(row, rows.end(), [&](const store::TrendRow& other) {
      return other.name != row->name || other.side != row->side;
    });
    std::map<std::size_t, TrendSeries> by_setup;
    for (; row != end; ++row) {
      const std::size_t group = is_of_clip(*row) ? setups.of.at(row->record) : 0;
      TrendSeries& series = by_setup.try_emplace(group, series_of(*row)).first->second;
      if (is_of_clip(*row)) {
        series.source = formats::TrendSource::Clip;
        series.setup = setups.groups[group];
      }
      series.points.push_back({row->date, row->record, row->value, row->standard_error, ""});
    }
    const auto first = static_cast<std::ptrdiff_t>(out.size());
    for (auto& [group, series] : by_setup) out.push_back(std::move(series));
    std::stable_sort(out.begin() + first, out.end(), [](const auto& a, const auto& b) {
      const bool own_a = a.setup && a.setup->own, own_b = b.setup && b.setup->own;
      return own_a != own_b ? own_a : a.points.back().date > b.points.back().date;
    });
  }
  return out;
}

// The lean of visits without a clip, as a person typed it in: a series of its own.
Result<std::optional<TrendSeries>> typed_trunk(store::Transaction& t, const Caller& caller,
                                               const Record& athlete) {
  TrendSeries series;
  series.name = kTrunk;
  series.unit = "deg";
  series.source = formats::TrendSource::Typed;
  for (const Record& visit :
       LINTEL_TRY(every_record(t, caller, RecordKind::Visit, athlete.id, {}))) {
    const auto reading = formats::read_visit_json(visit.document, "");
    if (!reading.visit || !reading.visit->trunk) continue;
    const formats::TypedTrunk& trunk = *reading.visit->trunk;
    series.points.push_back({reading.visit->date.iso(), visit.id,
                             trunk.inclination * kDegreesPerRadian,
                             trunk.standard_error * kDegreesPerRadian, trunk.method});
  }
  if (series.points.empty()) return std::optional<TrendSeries>();
  std::stable_sort(series.points.begin(), series.points.end(),
                   [](const auto& a, const auto& b) { return a.date < b.date; });
  return series;
}

// After the films of the same name.
void put_in_place(TrendSeries typed, std::vector<TrendSeries>& all) {
  const auto place = std::find_if(
      all.begin(), all.end(), [&](const TrendSeries& series) { return series.name > typed.name; });
  all.insert(place, std::move(typed));
}

std::string measure_label(const std::string& name) {
  for (std::size_t i = 0; i < kinematics::kChannelCount; ++i) {
    const auto& info = kinematics::channel_info(static_cast<kinematics::Channel>(i));
    if (info.name == name) return std::string(info.label);
  }
  return name;
}

std::string better_word(body::Better better) {
  return better == body::Better::Higher ? "higher" : better == body::Better::Lower ? "lower" : "";
}

std::vector<TrendSeries::Point> first_of_each_day(const std::vector<TrendSeries::Point>& points) {
  std::vector<TrendSeries::Point> days;
  for (const TrendSeries::Point& point : points) {
    if (days.empty() || days.back().date != point.date) days.push_back(point);
  }
  return days;
}

void describe(const Library& library, TrendSeries& series) {
  const body::TestProtocol* protocol = body::find_protocol(library.protocols, series.name);
  if (protocol != nullptr) {
    series.label = protocol->name;
    series.better = better_word(protocol->better);
  } else {
    series.label = measure_label(series.name);
    if (series.name == kTrunk) series.better = "lower";
  }
  // From one day to another; what was tried later on a day stands after what was usual.
  const std::vector<TrendSeries::Point> days = first_of_each_day(series.points);
  if (days.size() < 2) return;
  const TrendSeries::Point& first = days.front();
  const TrendSeries::Point& latest = days.back();
  series.change = latest.value - first.value;
  series.detectable_change =
      body::minimal_detectable_change(first.standard_error, latest.standard_error);
  const body::Better better = series.better == "higher"  ? body::Better::Higher
                              : series.better == "lower" ? body::Better::Lower
                                                         : body::Better::Neither;
  series.verdict = plan::judge_change(*series.change, *series.detectable_change, better);
}

// What the follow-up knows of the tests: target, and how the value is expected to go on.
struct Expectation {
  SharedLibrary library;
  plan::AthleteFollowed followed;
  plan::History history;
  std::optional<double> trunk_goal;  // [rad]
  std::optional<Date> goal_date;
};

// `si` of a unit of the series.
void add_fan(const std::vector<plan::FanPoint>& fan, double si, TrendSeries& series) {
  for (const plan::FanPoint& p : fan) {
    const double half = k95 * p.value.standard_error / si;
    series.forecast.push_back(
        {p.date, p.value.value / si, p.value.value / si - half, p.value.value / si + half});
  }
}

// Goal and forecast of the trunk in the films; a forecast needs two days.
Result<void> expect_trunk(const Expectation& expected, TrendSeries& series) {
  if (expected.trunk_goal) {
    series.target = *expected.trunk_goal * kDegreesPerRadian;
    series.target_date = expected.goal_date;
  }
  std::vector<plan::Observed> films;
  for (const TrendSeries::Point& point : first_of_each_day(series.points)) {
    films.push_back({LINTEL_TRY(Date::parse(point.date)), {point.value, point.standard_error}});
  }
  if (films.size() < 2) return {};
  const Date from = films.back().date;
  add_fan(LINTEL_TRY(plan::forecast_fan(std::move(films), body::Better::Lower, from, kFanWeeks)),
          1.0, series);
  return {};
}

Result<void> add_expectation(const Expectation& expected, Date today, TrendSeries& series) {
  // The goal is one of the own setup, and what was filmed otherwise tells nothing of it.
  const bool own = !series.setup || series.setup->own;
  if (series.name == kTrunk && own) return expect_trunk(expected, series);
  if (series.source != formats::TrendSource::Test) return {};
  for (const plan::TestSeries& test : plan::series_of(expected.followed, expected.history, today)) {
    if (test.test->protocol != series.name) continue;
    if (std::string(body::test_side_name(test.side)) != series.side) continue;
    const double si = body::si_per_unit(test.test->unit);
    if (test.test->target) series.target = *test.test->target / si;
    series.target_date = test.test->goal_date;
    if (test.test->better == body::Better::Neither) return {};
    const Date from = test.sessions.back()->date;
    add_fan(LINTEL_TRY(plan::forecast_fan(test, from, kFanWeeks)), si, series);
    return {};
  }
  return {};
}

Result<Expectation> read_expectation(store::Transaction& t, const Caller& caller,
                                     const Record& athlete) {
  Expectation out;
  const formats::Intake intake = LINTEL_TRY(intake_of(athlete));
  out.library = LINTEL_TRY(library_of(t, caller.organization));
  out.history = LINTEL_TRY(history_of(t, caller, *out.library, athlete.id, intake.athlete.id));
  FollowedSources sources;
  sources.athlete = intake.athlete;
  sources.protocols = &out.library->protocols;
  sources.drills = &out.library->drills;
  const auto newest = LINTEL_TRY(newest_record(t, caller, RecordKind::Plan, athlete.id, {}));
  if (newest) {
    const auto document = LINTEL_TRY(formats::read_plan_record_json(newest->document));
    sources.plan = plan_for_now(document.plan, intake.athlete.warning_signs);
    for (const plan::Goal& goal : sources.plan->goals) {
      if (goal.code != kTrunk) continue;
      out.trunk_goal = goal.target;
      out.goal_date = goal.date;
    }
  }
  if (!out.trunk_goal && intake.goal) {
    out.trunk_goal = intake.goal->trunk_inclination;
    out.goal_date = intake.goal->date;
  }
  out.followed = followed_of(sources, out.history);
  return out;
}

Result<void> may_list(const Caller& caller, ListAs as) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadRecords));
  if (as == ListAs::Csv) LINTEL_TRY_VOID(require(caller, Permission::TakeOut));
  return {};
}

}  // namespace

Result<std::string> athlete_trends(Practice& practice, const Caller& caller,
                                   std::string_view athlete, ListAs as) {
  LINTEL_TRY_VOID(may_list(caller, as));
  const Date today = LINTEL_TRY(Date::parse(practice.today()));
  using All = std::pair<std::vector<TrendSeries>, Expectation>;
  const auto body = [&](store::Transaction& t) -> Result<All> {
    const Record of =
        LINTEL_TRY(find_for(t, caller, Permission::ReadRecords, athlete, RecordKind::Athlete));
    const auto rows = LINTEL_TRY(store::athlete_trends(t, caller.organization, of.id));
    const formats::Intake intake = LINTEL_TRY(intake_of(of));
    const auto setups = LINTEL_TRY(setups_of_trials(t, practice, intake, of, trials_of(rows)));
    All out{series_of_rows(rows, setups), LINTEL_TRY(read_expectation(t, caller, of))};
    if (auto typed = LINTEL_TRY(typed_trunk(t, caller, of))) {
      put_in_place(*std::move(typed), out.first);
    }
    return out;
  };
  All all = LINTEL_TRY(store::read_value<All>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"record_seen", athlete, athlete, "trends"}));
  for (TrendSeries& series : all.first) {
    describe(*all.second.library, series);
    LINTEL_TRY_VOID(add_expectation(all.second, today, series));
  }
  return as == ListAs::Csv ? formats::write_trends_csv(all.first)
                           : formats::write_trends_json(all.first);
}

Result<std::string> cohort_range(Practice& practice, const Caller& caller,
                                 const std::string& protocol, ListAs as) {
  LINTEL_TRY_VOID(may_list(caller, as));
  using Rows = std::vector<store::CohortRow>;
  const auto body = [&](store::Transaction& t) -> Result<Rows> {
    const SharedLibrary library = LINTEL_TRY(library_of(t, caller.organization));
    LINTEL_TRY(protocol_named(library->protocols, protocol));
    return store::cohort_range(t, caller.organization, protocol, practice.today());
  };
  const Rows rows = LINTEL_TRY(store::read_value<Rows>(*practice.database, body));
  std::vector<formats::CohortRange> out;
  for (const store::CohortRow& row : rows) {
    out.push_back({row.band, row.side, row.unit, row.athletes, row.median, row.low_quartile,
                   row.high_quartile});
  }
  return as == ListAs::Csv ? formats::write_cohort_range_csv(protocol, out)
                           : formats::write_cohort_range_json(protocol, out);
}

Result<std::string> cohort_change(Practice& practice, const Caller& caller,
                                  const std::string& protocol, ListAs as) {
  LINTEL_TRY_VOID(may_list(caller, as));
  using Rows = std::vector<store::DrillChangeRow>;
  SharedLibrary library;
  const auto body = [&](store::Transaction& t) -> Result<Rows> {
    library = LINTEL_TRY(library_of(t, caller.organization));
    LINTEL_TRY(protocol_named(library->protocols, protocol));
    return store::cohort_change_by_drill(t, caller.organization, protocol);
  };
  const Rows rows = LINTEL_TRY(store::read_value<Rows>(*practice.database, body));
  std::vector<formats::CohortChange> out;
  for (const store::DrillChangeRow& row : rows) {
    const plan::Drill* drill = plan::find_drill(library->drills, row.drill);
    out.push_back({row.drill, drill == nullptr ? row.drill : drill->name, row.protocol, row.unit,
                   row.athletes, row.change_per_week});
  }
  return as == ListAs::Csv ? formats::write_cohort_change_csv(out)
                           : formats::write_cohort_change_json(protocol, out);
}

}  // namespace lintel::app
