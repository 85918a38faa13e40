#include "formats/drill_json.h"
#include "formats/json_cautions.h"
#include "formats/sketch_json.h"

namespace lintel::formats {
namespace {

using plan::Drill;

Json targets_json(const Drill& drill) {
  Json out = Json::array();
  for (const plan::Target& target : drill.targets) {
    const plan::Gain& gain = target.gain;
    out.push_back({{"part", reasoning::factor_name(target.part)},
                   {"gain_deg_per_week", number(gain.per_week * kDegrees)},
                   {"gain_sd_deg_per_week", number(gain.standard_deviation * kDegrees)},
                   {"reference_minutes_per_week", number(gain.reference_time / 60.0)},
                   {"weeks", number(gain.weeks)},
                   {"source", gain.source}});
  }
  return out;
}

Json equipment_json(const Drill& drill) {
  Json out = Json::array();
  for (const plan::EquipmentSet& any : drill.needs) {
    Json one = Json::array();
    for (const plan::Equipment e : any.list()) one.push_back(plan::equipment_name(e));
    out.push_back(std::move(one));
  }
  return out;
}

Json doses_json(const Drill& drill) {
  Json out = Json::array();
  for (const plan::Dose& dose : drill.doses) {
    out.push_back({{"sets", dose.sets},
                   {"repetitions", dose.repetitions},
                   {"hold_s", number(dose.hold)},
                   {"times_per_week", dose.times_per_week},
                   {"minutes_per_session", number(dose.time_per_session / 60.0)}});
  }
  return out;
}

Json ladder_json(const Drill& drill) {
  Json out = Json::array();
  for (const plan::LadderStep& step : drill.ladder) {
    out.push_back({{"name", step.name},
                   {"how", step.how},
                   {"easier", step.easier},
                   {"harder", step.harder},
                   {"move_on", step.move_on},
                   {"good_sessions", step.good_sessions},
                   {"effort_at_most", number(step.effort_at_most)},
                   {"loaded", step.loaded}});
  }
  return out;
}

Json drill_json(const Drill& drill) {
  Json out;
  out["schema"] = "lintel-drill-1";
  out["id"] = drill.id;
  out["name"] = drill.name;
  out["purpose"] = drill.purpose;
  out["targets"] = targets_json(drill);
  out["mode"] = plan::mode_name(drill.mode);
  out["position"] = drill.position;
  out["steps"] = drill.steps;
  out["cues"] = drill.cues;
  out["equipment"] = equipment_json(drill);
  out["doses"] = doses_json(drill);
  out["dose_source"] = drill.dose_source;
  out["ladder"] = ladder_json(drill);
  out["prerequisites"] = Json::array();
  for (const plan::Prerequisite& before : drill.prerequisites) {
    out["prerequisites"].push_back({{"drill", before.drill}, {"step", before.step + 1}});
  }
  out["loaded"] = drill.loaded;
  out["cautions"] = drill.cautions;
  out["not_with"] = Json::array();
  for (const body::WarningSign sign : drill.not_with) {
    out["not_with"].push_back(body::warning_sign_name(sign));
  }
  out["source"] = drill.source;
  out["drawing"] = Json::parse(write_sketch(drill.drawing), nullptr, false);
  return out;
}

std::string dump(const Json& json) {
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace

std::string write_drill_json(const Drill& drill) {
  return dump(drill_json(drill));
}

std::string write_drill_card_json(const Drill& drill) {
  Json root;
  root["schema"] = "lintel-drill-card-1";
  root["built_in"] = drill.built_in;
  root["drill"] = drill_json(drill);
  root["cautions"] = cautions_json();
  return dump(root);
}

std::string write_drill_list_json(const std::vector<Drill>& drills) {
  Json root;
  root["schema"] = "lintel-drill-list-1";
  root["drills"] = Json::array();
  for (const Drill& drill : drills) {
    Json parts = Json::array();
    for (const plan::Target& t : drill.targets) parts.push_back(reasoning::factor_name(t.part));
    root["drills"].push_back({{"id", drill.id},
                              {"name", drill.name},
                              {"parts", std::move(parts)},
                              {"mode", plan::mode_name(drill.mode)},
                              {"equipment", equipment_json(drill)},
                              {"steps", drill.ladder.size()},
                              {"loaded", drill.loaded},
                              {"built_in", drill.built_in},
                              {"state", drill.archived ? "archived" : "active"}});
  }
  root["cautions"] = cautions_json();
  return dump(root);
}

}  // namespace lintel::formats
