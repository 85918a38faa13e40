#include "base/cautions.h"
#include "base/text.h"
#include "formats/fhir_parts.h"
#include "plan/drill.h"

namespace lintel::formats::fhir {
namespace {

using plan::Plan;

Json period(Date first, Date last) {
  return {{"start", first.iso()}, {"end", last.iso()}};
}

Json goal_json(const Bundle& bundle, const Plan& plan, const plan::Goal& goal) {
  const bool lean = goal.code == "trunk_inclination";
  // A range goal without a start is the gain that is aimed for; with one it is the range itself.
  const std::string code = lean               ? "squat_trunk_inclination"
                           : goal.from == 0.0 ? "gain_" + goal.code
                                              : "range_" + goal.code;
  Json wanted = quantity(goal.target * kDegrees, "deg");
  wanted["comparator"] = lean ? "<=" : ">=";
  const std::string words =
      goal.measure + text(": %.1f degrees by ", goal.target * kDegrees) + goal.date.iso();
  return {
      {"lifecycleStatus", "active"},
      {"description", {{"text", words}}},
      {"subject", bundle.patient()},
      {"startDate", plan.from.iso()},
      {"target", Json::array({{{"measure", concept_of(exchange_codes().find(code), goal.measure)},
                               {"detailQuantity", wanted},
                               {"dueDate", goal.date.iso()}}})},
      {"note",
       note(text("Probability %.2f that it is reached by then. ", goal.probability) + goal.basis)}};
}

void add_lines(std::string& out, const std::vector<std::string>& lines) {
  for (const std::string& line : lines) out += (out.empty() ? "" : "\n") + line;
}

Json drill_json(const Plan& plan, const plan::PlannedDrill& drill) {
  std::string words = plan::dose_text(drill.dose) + ". " + drill.step_name + ": " + drill.step_how;
  if (drill.loaded) words += "\nDone under load.";
  add_lines(words, drill.cues);
  add_lines(words, drill.cautions);
  const Json repeat = {{"boundsPeriod", period(plan.from, plan.last_day())},
                       {"duration", number(drill.dose.time_per_session / 60.0)},
                       {"durationUnit", "min"},
                       {"frequency", drill.dose.times_per_week},
                       {"period", 1},
                       {"periodUnit", "wk"}};
  return {{"detail",
           {{"code", {{"text", drill.name}}},
            {"status", "not-started"},
            {"scheduledTiming", {{"repeat", repeat}}},
            {"description", words}}}};
}

Json retest_json(const plan::PlannedRetest& retest) {
  const ExchangeCode* code =
      exchange_codes().find(retest.test == "clip" ? "squat_trunk_inclination" : retest.test);
  return {{"detail",
           {{"code", concept_of(code, "Test again: " + retest.label)},
            {"status", "scheduled"},
            {"scheduledPeriod", period(retest.date, retest.date)},
            {"description", text("Mean of %d. ", retest.trials) + retest.reason}}}};
}

std::string remarks_on(const Plan& plan) {
  std::string out;
  for (const plan::SetupChange& change : plan.setup_changes) {
    out += (out.empty() ? "" : "\n") + change.text;
  }
  add_lines(out, plan.stop_rules);
  add_lines(out, plan.notes);
  return out + (out.empty() ? "" : "\n") + cautions_text();
}

}  // namespace

void add_plan(Bundle& bundle) {
  if (bundle.visit().plan == nullptr) return;
  const Plan& plan = *bundle.visit().plan;
  Json goals = Json::array();
  for (const plan::Goal& goal : plan.goals) {
    goals.push_back(
        bundle.add("Goal", goal.code + "\n" + goal.date.iso(), goal_json(bundle, plan, goal)));
  }
  Json activities = Json::array();
  for (const plan::PlannedDrill& drill : plan.drills) activities.push_back(drill_json(plan, drill));
  for (const plan::PlannedRetest& retest : plan.retests) activities.push_back(retest_json(retest));
  Json content = {{"status", "active"},
                  {"intent", "plan"},
                  {"title", text("Mobility plan, %d weeks", plan.weeks)}};
  put(content, "description", plan.referral);
  content["subject"] = bundle.patient();
  content["encounter"] = bundle.encounter();
  content["period"] = period(plan.from, plan.last_day());
  put(content, "goal", goals);
  put(content, "activity", activities);
  content["note"] = note(remarks_on(plan));
  bundle.add("CarePlan", plan.from.iso(), content);
}

}  // namespace lintel::formats::fhir
