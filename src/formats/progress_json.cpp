#include "formats/progress_json.h"

#include <algorithm>

#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

using plan::TestChange;
using plan::TestFollowed;
using plan::TestForecast;

Json date_json(const std::optional<Date>& date) {
  return date ? Json(date->iso()) : Json();
}

Json optional_number(const std::optional<double>& value, double factor = 1.0) {
  return value ? number(*value * factor) : Json();
}

Json forecast_json(const TestForecast& f, const std::string& unit, double per_si) {
  Json json;
  json["sessions"] = f.sessions;
  json["now_" + unit] = estimate(f.now, per_si);
  json["gain_" + unit + "_per_week"] = estimate(f.gain, per_si);
  json["gain_interval95_" + unit + "_per_week"] = {
      {"lower", number(f.gain_interval.low * per_si)},
      {"upper", number(f.gain_interval.high * per_si)}};
  json["useful_gain_" + unit + "_per_week"] = number(f.useful_gain * per_si);
  json["probability_useful"] = number(f.probability_useful);
  json["working"] = plan::working_name(f.working);
  json["reached"] = f.reached;
  json["probability_at_goal_date"] = optional_number(f.probability_at_goal);
  json["reached_with_50_percent_on"] = date_json(f.likely);
  json["reached_with_90_percent_on"] = date_json(f.nearly_sure);
  json["response"] = f.response ? estimate(*f.response, 1.0) : Json();
  return json;
}

Json session_json(Date date, int tries, const Estimate& mean, const std::string& unit,
                  double per_si) {
  return {{"date", date.iso()}, {"tries", tries}, {"mean_" + unit, estimate(mean, per_si)}};
}

Json test_json(const ProgressDocument& document, const TestChange& change) {
  const auto& tests = document.followed.tests;
  const auto test = std::find_if(tests.begin(), tests.end(), [&](const TestFollowed& t) {
    return t.protocol == change.protocol;
  });
  LINTEL_CHECK(test != tests.end());
  const std::string unit(body::protocol_unit_name(test->unit));
  const double per_si = 1.0 / body::si_per_unit(test->unit);
  const bool twice = change.verdict != plan::ChangeVerdict::OneSession;
  Json json = {{"protocol", test->protocol},
               {"name", test->name},
               {"side", body::test_side_name(change.side)}};
  json["first"] = session_json(change.first, change.first_tries, change.first_mean, unit, per_si);
  json["latest"] =
      twice ? session_json(change.latest, change.latest_tries, change.latest_mean, unit, per_si)
            : Json();
  json["change_" + unit] = twice ? number(change.change * per_si) : Json();
  json["detectable_change_" + unit] = twice ? number(change.detectable_change * per_si) : Json();
  json["verdict"] = plan::change_verdict_name(change.verdict);
  json["target_" + unit] = optional_number(test->target, per_si);
  json["goal_date"] = date_json(test->goal_date);
  json["forecast"] = nullptr;
  for (const TestForecast& forecast : document.follow.forecasts) {
    if (forecast.protocol != change.protocol || forecast.side != change.side) continue;
    json["forecast"] = forecast_json(forecast, unit, per_si);
  }
  return json;
}

Json decision_json(const plan::DrillAsked& asked, const plan::DrillDecision& decision) {
  const auto name_of = [&asked](int step) {
    return asked.ladder[static_cast<std::size_t>(step)].name;
  };
  const bool goes_on = decision.decision != plan::Decision::Refer;
  const auto& rules = plan::progression_rules();
  const auto row = std::find_if(rules.begin(), rules.end(),
                                [&](const plan::RuleRow& r) { return r.rule == decision.rule; });
  return {{"drill", asked.drill},
          {"name", asked.name},
          {"decision", plan::decision_name(decision.decision)},
          {"step", decision.step + 1},
          {"step_name", name_of(decision.step)},
          {"next_step", goes_on ? Json(decision.next_step + 1) : Json()},
          {"next_step_name", goes_on ? Json(name_of(decision.next_step)) : Json()},
          {"rule", plan::rule_name(decision.rule)},
          {"reason", decision.reason},
          {"source", row == rules.end() ? Json() : Json(row->source)}};
}

Json watch_json(const plan::WatchItem& item) {
  return {{"watch", plan::watch_name(item.watch)},
          {"about", item.about.empty() ? Json() : Json(item.about)},
          {"side", body::test_side_name(item.side)},
          {"date", date_json(item.date)},
          {"text", item.text}};
}

Json loads_json(const plan::LoadAdvice& loads) {
  Json json = {{"allowed", loads.allowed},
               {"why", loads.why},
               {"reference", loads.reference ? Json(plan::lift_name(*loads.reference)) : Json()},
               {"reference_kg", loads.reference ? number(loads.reference_mass) : Json()},
               {"source", loads.source},
               {"note", loads.note.empty() ? Json() : Json(loads.note)},
               {"weeks", Json::array()}};
  for (const plan::LoadWeek& week : loads.weeks) {
    json["weeks"].push_back({{"week", week.week},
                             {"plan_week", week.plan_week ? Json(*week.plan_week) : Json()},
                             {"stage", plan::load_stage_name(week.stage)},
                             {"at_most_kg", week.mass > 0 ? number(week.mass) : Json()},
                             {"share", optional_number(week.share)},
                             {"sets", week.sets},
                             {"repetitions", week.repetitions},
                             {"lighter_week", week.deload}});
  }
  return json;
}

}  // namespace

std::string write_progress_json(const ProgressDocument& document) {
  Json json = {{"schema", "lintel-progress-1"},
               {"athlete", document.athlete_id},
               {"name", document.athlete_name.empty() ? Json() : Json(document.athlete_name)},
               {"date", document.follow.today.iso()}};
  json["warning_signs"] = Json::array();
  for (const body::WarningSign sign : document.followed.warning_signs) {
    json["warning_signs"].push_back(body::warning_sign_name(sign));
  }
  json["tests"] = Json::array();
  for (const TestChange& change : document.follow.changes) {
    json["tests"].push_back(test_json(document, change));
  }
  json["drills"] = Json::array();
  for (std::size_t i = 0; i < document.follow.decisions.size(); ++i) {
    json["drills"].push_back(
        decision_json(document.followed.drills[i], document.follow.decisions[i]));
  }
  json["watch"] = Json::array();
  for (const plan::WatchItem& item : document.follow.watch) {
    json["watch"].push_back(watch_json(item));
  }
  json["loads"] = loads_json(document.loads);
  json["cautions"] = cautions_json();
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
