#include "formats/json_cautions.h"
#include "formats/plan_json.h"

namespace lintel::formats {
namespace {

using plan::Plan;

constexpr double kMinutes = 1.0 / 60.0;

Json dose_json(const plan::Dose& dose) {
  return {{"sets", dose.sets},
          {"repetitions", dose.repetitions},
          {"hold_s", number(dose.hold)},
          {"times_per_week", dose.times_per_week},
          {"minutes_per_session", number(dose.time_per_session * kMinutes)}};
}

Json drill_json(const plan::PlannedDrill& drill) {
  Json out;
  out["id"] = drill.id;
  out["name"] = drill.name;
  out["part"] = reasoning::factor_name(drill.part);
  out["dose"] = dose_json(drill.dose);
  out["step"] = drill.step + 1;
  out["step_name"] = drill.step_name;
  out["step_how"] = drill.step_how;
  out["move_on"] = drill.move_on;
  out["loaded"] = drill.loaded;
  out["reason"] = drill.reason;
  out["cues"] = drill.cues;
  out["cautions"] = drill.cautions;
  out["source"] = drill.source;
  return out;
}

Json setup_change_json(const plan::SetupChange& change) {
  const bool angle = change.lever == reasoning::Factor::ToeOut;
  const double unit = angle ? kDegrees : kCentimetres;
  const std::string suffix = angle ? "_deg" : "_cm";
  Json out;
  out["lever"] = reasoning::factor_name(change.lever);
  out["from" + suffix] = number(change.from * unit);
  out["to" + suffix] = number(change.to * unit);
  out["lean_gain_deg"] = estimate(change.lean_gain, kDegrees);
  out["text"] = change.text;
  return out;
}

Json goal_json(const plan::Goal& goal) {
  return {{"code", goal.code},
          {"measure", goal.measure},
          {"from_deg", number(goal.from * kDegrees)},
          {"target_deg", number(goal.target * kDegrees)},
          {"date", goal.date.iso()},
          {"probability", number(goal.probability)},
          {"basis", goal.basis}};
}

Json week_json(const Plan& plan, const plan::PlannedWeek& week) {
  Json sessions = Json::array();
  for (const plan::PlannedSession& session : week.sessions) {
    Json items = Json::array();
    for (const plan::SessionItem& item : session.items) {
      items.push_back({{"drill", plan.drills[item.drill].id},
                       {"sets", item.sets},
                       {"minutes", number(item.time * kMinutes)}});
    }
    sessions.push_back({{"date", (week.start + session.day).iso()},
                        {"minutes", number(session.time * kMinutes)},
                        {"items", std::move(items)}});
  }
  return {{"week", week.number},
          {"start", week.start.iso()},
          {"deload", week.deload},
          {"sessions", std::move(sessions)}};
}

Json retest_json(const plan::PlannedRetest& retest) {
  const double unit = retest.is_length ? kCentimetres : kDegrees;
  const std::string suffix = retest.is_length ? "_cm" : "_deg";
  Json out;
  out["test"] = retest.test;
  out["label"] = retest.label;
  out["date"] = retest.date.iso();
  out["trials"] = retest.trials;
  out["detectable"] = retest.detectable;
  out["expected_gain" + suffix] = number(retest.expected_gain * unit);
  out["detectable_change" + suffix] = number(retest.detectable_change * unit);
  out["reason"] = retest.reason;
  return out;
}

Json moments_json(const posture::JointMoments& moments) {
  return {{"ankle_plantarflexion", number(moments.ankle_plantarflexion)},
          {"knee_extension", number(moments.knee_extension)},
          {"hip_extension", number(moments.hip_extension)},
          {"low_back_extension", number(moments.low_back_extension)},
          {"shoulder_flexion", number(moments.shoulder_flexion)}};
}

Json seated_hold_json(const plan::SeatedHoldPlan& hold) {
  Json ladder = Json::array();
  for (const plan::SurfaceRung& rung : hold.ladder) {
    ladder.push_back({{"week", rung.week},
                      {"surface_height_cm", number(rung.surface_height * kCentimetres)},
                      {"depth_cm", number(rung.depth * kCentimetres)},
                      {"trunk_inclination_deg", number(rung.trunk_inclination * kDegrees)},
                      {"on_surface_kg", number(rung.on_surface)},
                      {"on_feet_kg", number(rung.on_feet)}});
  }
  const plan::SeatedHold& now = hold.now;
  Json out;
  out["seat_share"] = number(hold.seat_share);
  out["rise_cm"] = number(hold.rise * kCentimetres);
  out["acceptable_inclination_deg"] = number(hold.acceptable_inclination * kDegrees);
  out["full_depth_height_cm"] = number(hold.full_depth_height * kCentimetres);
  out["starts_at_full_depth"] = hold.starts_at_full_depth;
  out["now"] = {{"surface_height_cm", number(now.surface_height * kCentimetres)},
                {"depth_cm", number(now.depth * kCentimetres)},
                {"trunk_inclination_deg", number(now.trunk_inclination * kDegrees)},
                {"lifted_inclination_deg", number(now.lifted_inclination * kDegrees)},
                {"possible", now.possible},
                {"total_kg", number(now.total_weight)},
                {"on_surface_kg", number(now.on_surface)},
                {"on_feet_kg", number(now.on_feet)},
                {"moments_n_m", moments_json(now.moments)},
                {"lifted_moments_n_m", moments_json(now.lifted)}};
  out["ladder"] = std::move(ladder);
  out["notes"] = hold.notes;
  return out;
}

template <typename List, typename ToJson>
Json list_json(const List& list, ToJson to_json) {
  Json out = Json::array();
  for (const auto& entry : list) out.push_back(to_json(entry));
  return out;
}

}  // namespace

std::string write_plan_json(const Plan& plan) {
  Json root;
  root["schema"] = "lintel-plan-1";
  root["athlete"] = {{"id", plan.athlete_id}, {"name", plan.athlete_name}};
  root["from"] = plan.from.iso();
  root["last_day"] = plan.last_day().iso();
  root["weeks"] = plan.weeks;
  root["sessions_per_week"] = plan.sessions_per_week;
  root["minutes_per_session"] = number(plan.time_per_session * kMinutes);
  root["equipment"] = list_json(plan.equipment.list(), plan::equipment_name);
  root["warning_signs"] = list_json(plan.warning_signs, body::warning_sign_name);
  root["clearance"] = plan::clearance_name(plan.clearance);
  root["referral"] = plan.referral;
  root["setup_changes"] = list_json(plan.setup_changes, setup_change_json);
  root["goals"] = list_json(plan.goals, goal_json);
  root["drills"] = list_json(plan.drills, drill_json);
  root["schedule"] =
      list_json(plan.schedule, [&plan](const plan::PlannedWeek& w) { return week_json(plan, w); });
  root["retests"] = list_json(plan.retests, retest_json);
  root["stop_rules"] = plan.stop_rules;
  root["notes"] = plan.notes;
  if (plan.seated_hold) root["seated_hold"] = seated_hold_json(*plan.seated_hold);
  root["cautions"] = cautions_json();
  return root.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
