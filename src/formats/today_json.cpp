#include "formats/today_json.h"

#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

Json or_null(const std::optional<Date>& date) {
  return date ? Json(date->iso()) : Json(nullptr);
}

Json done_json(const plan::DrillDone& done) {
  Json json = {{"step", done.step + 1},
               {"sets", done.sets},
               {"repetitions", done.repetitions},
               {"hold_s", number(done.hold)},
               {"load_kg", number(done.load)}};
  json["effort"] = done.effort ? number(*done.effort) : Json(nullptr);
  json["pain_during"] = done.pain_during ? Json(*done.pain_during) : Json(nullptr);
  json["pain_next_morning"] =
      done.pain_next_morning ? Json(*done.pain_next_morning) : Json(nullptr);
  json["stop_sign"] = done.stop_sign ? Json(plan::stop_sign_name(*done.stop_sign)) : Json(nullptr);
  json["notes"] = done.note;
  return json;
}

Json item_json(const TodayItem& item) {
  const plan::PlannedDrill& drill = item.drill;
  return {{"drill", drill.id},
          {"name", drill.name},
          {"sets", item.sets},
          {"repetitions", drill.dose.repetitions},
          {"hold_s", number(drill.dose.hold)},
          {"step", drill.step + 1},
          {"step_name", drill.step_name},
          {"step_how", drill.step_how},
          {"move_on", drill.move_on},
          {"minutes", number(item.time / 60.0)},
          {"loaded", drill.loaded},
          {"reason", drill.reason},
          {"cues", drill.cues},
          {"cautions", drill.cautions},
          {"drawing", "/api/v1/drills/" + drill.id + "/drawing.svg"},
          {"done", item.done.has_value()},
          {"logged", item.done ? done_json(*item.done) : Json(nullptr)}};
}

}  // namespace

std::string write_today_json(const TodayPage& page) {
  Json json = {{"athlete", {{"id", page.athlete_id}, {"name", page.athlete_name}}},
               {"date", page.date.iso()},
               {"plan", page.plan_id.empty() ? Json(nullptr) : Json(page.plan_id)},
               {"week", page.week ? Json(*page.week) : Json(nullptr)},
               {"deload", page.deload},
               {"rest", page.items.empty()},
               {"clearance", plan::clearance_name(page.clearance)},
               {"stopped", page.stopped},
               {"message", page.message},
               {"referral", page.referral}};
  double time = 0.0;
  json["items"] = Json::array();
  for (const TodayItem& item : page.items) {
    time += item.time;
    json["items"].push_back(item_json(item));
  }
  json["minutes"] = number(time / 60.0);
  json["next_session"] = or_null(page.next_session);
  json["stop_rules"] = page.stop_rules;
  json["next_retest"] = nullptr;
  if (page.next_retest) {
    json["next_retest"] = {{"test", page.next_retest->test},
                           {"label", page.next_retest->label},
                           {"date", page.next_retest->date.iso()}};
  }
  json["sessions_done"] = page.sessions_done;
  json["cautions"] = cautions_json();
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace lintel::formats
