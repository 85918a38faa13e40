// The record's follow-up: each test against its error, what is to be expected, each drill's
// decision.
#include <algorithm>

#include "report/blocks.h"
#include "report/plan_pages.h"
#include "report/record_parts.h"

namespace lintel::report::record {
namespace {

constexpr double kAfter = 7;  // below a section

const plan::TestFollowed* find_followed(const view::Visit& visit, const std::string& protocol) {
  if (visit.followed == nullptr) return nullptr;
  const auto& tests = visit.followed->tests;
  const auto found = std::find_if(tests.begin(), tests.end(),
                                  [&](const auto& test) { return test.protocol == protocol; });
  return found == tests.end() ? nullptr : &*found;
}

const plan::TestForecast* find_forecast(const plan::FollowUp& follow,
                                        const plan::TestChange& change) {
  const auto found =
      std::find_if(follow.forecasts.begin(), follow.forecasts.end(), [&](const auto& forecast) {
        return forecast.protocol == change.protocol && forecast.side == change.side;
      });
  return found == follow.forecasts.end() ? nullptr : &*found;
}

std::string verdict_text(plan::ChangeVerdict verdict) {
  switch (verdict) {
    case plan::ChangeVerdict::OneSession:
      return "tested once";
    case plan::ChangeVerdict::Improved:
      return "better";
    case plan::ChangeVerdict::NoDetectableChange:
      return "no detectable change";
    case plan::ChangeVerdict::Worse:
      return "worse";
    case plan::ChangeVerdict::Changed:
      break;
  }
  return "changed";
}

std::string target_text(const plan::TestFollowed& test, const plan::TestForecast& forecast,
                        UnitSystem units) {
  if (!test.target) return "none";
  std::string text = value_text(*test.target, test.unit, units);
  if (forecast.reached) return text + ", reached";
  text += forecast.likely ? ", even odds by " + short_date(*forecast.likely) : ", not in sight";
  if (forecast.probability_at_goal && test.goal_date) {
    text += ", " + fixed_text(100 * *forecast.probability_at_goal, 0) + " % on " +
            short_date(*test.goal_date);
  }
  return text;
}

TableRow row_of(const plan::TestChange& change, const plan::TestFollowed& test,
                const plan::TestForecast* forecast, UnitSystem units) {
  const bool one_side = change.side != body::TestSide::Both;
  const bool twice = change.verdict != plan::ChangeVerdict::OneSession;
  TableRow row{
      {test.name, one_side ? std::string(body::test_side_name(change.side)) : "",
       result_text(change.first_mean, test.unit, units) + ", " + short_date(change.first),
       twice ? result_text(change.latest_mean, test.unit, units) + ", " + short_date(change.latest)
             : "",
       twice ? typeset(value_text(change.change, test.unit, units)) : "",
       twice ? value_text(change.detectable_change, test.unit, units) : "",
       verdict_text(change.verdict),
       forecast == nullptr ? "" : target_text(test, *forecast, units)}};
  return row;
}

void draw_changes(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  Table table;
  table.columns = {{"Test", 1.7},    {"Side", 0.6},   {"First", 1.6},
                   {"Latest", 1.6},  {"Change", 0.9}, {"More than error from", 1.0},
                   {"Verdict", 1.2}, {"Target", 1.8}};
  for (const plan::TestChange& change : visit.follow_up->changes) {
    const plan::TestFollowed* test = find_followed(visit, change.protocol);
    if (test == nullptr) continue;
    table.rows.push_back(row_of(change, *test, find_forecast(*visit.follow_up, change), units));
  }
  if (table.rows.empty()) return;
  flow_table(flow, table);
  flow.skip(2);
}

}  // namespace

void draw_follow_up(PageFlow& flow, const view::Visit& visit, UnitSystem units) {
  if (visit.follow_up == nullptr) return;
  const plan::FollowUp& follow = *visit.follow_up;
  flow.heading("Follow-up, " + date_words(follow.today), kHeading, 30);
  for (const plan::WatchItem& item : follow.watch) flow.bullet(typeset(item.text), strong());
  draw_changes(flow, visit, units);
  const std::vector<ShownDrill> shown = shown_drills(visit);
  for (const plan::DrillDecision& decision : follow.decisions) {
    const auto drill = std::find_if(shown.begin(), shown.end(), [&](const ShownDrill& candidate) {
      return candidate.planned->id == decision.drill;
    });
    if (drill == shown.end()) continue;
    flow.bullet(drill->planned->name + ": " + std::string(plan::decision_label(decision.decision)) +
                    ". " + typeset(decision.reason),
                plain());
  }
  flow.skip(kAfter);
}

}  // namespace lintel::report::record
