#include "formats/plan_record_json.h"

#include "formats/field_reader.h"
#include "formats/json_numbers.h"
#include "formats/plan_json.h"
#include "formats/plan_words.h"

namespace lintel::formats {
namespace {

constexpr const char* kSchema = "lintel-plan-record-1";
constexpr std::size_t kLongestLine = 400;  // [bytes]
constexpr std::size_t kLongestText = 2000;
constexpr std::size_t kMostEdits = 100;
constexpr int kMostVersions = 1'000'000;
constexpr double kSteepest = 80.0;  // [deg]

class WishReader {
 public:
  explicit WishReader(FaultList& faults) : fields_(faults), faults_(faults) {}

  PlanWish read(const JsonValue& root) {
    PlanWish out;
    if (!fields_.is_kind(root, "the request", JsonKind::Object)) return out;
    fields_.check_keys(root, "",
                       {"minutes", "sessions", "weeks", "goal_date", "goal_deg", "equipment",
                        "from", "paper", "units", "letter", "seed"});
    const auto minutes =
        fields_.number(root, "", "minutes", Presence::Optional, {5.0, 120.0, "minutes"});
    if (minutes) out.time_per_session = *minutes * 60.0;
    out.sessions = fields_.whole_number(root, "", "sessions", Presence::Optional, 1, 7);
    out.weeks = fields_.whole_number(root, "", "weeks", Presence::Optional, 1, 52);
    out.goal_date = date(root, "goal_date");
    out.from = date(root, "from");
    const auto goal =
        fields_.number(root, "", "goal_deg", Presence::Optional, {0.0, kSteepest, "deg"});
    if (goal) out.goal = *goal * kRadiansPerDegree;
    read_equipment(root, out);
    out.letter_paper =
        fields_.word(root, "", "paper", Presence::Optional, {"a4", "letter"}).value_or(0) == 1;
    out.imperial =
        fields_.word(root, "", "units", Presence::Optional, {"metric", "imperial"}).value_or(0) ==
        1;
    read_letter(root, out);
    out.seed = static_cast<std::uint64_t>(
        fields_.whole_number(root, "", "seed", Presence::Optional, 0, 1'000'000'000).value_or(1));
    return out;
  }

 private:
  std::optional<Date> date(const JsonValue& root, const std::string& key) {
    const JsonValue* value = fields_.member(root, "", key, JsonKind::String, Presence::Optional);
    if (value == nullptr) return {};
    const auto day = Date::parse(value->text);
    if (day) return *day;
    faults_.add(*value, key, "is \"" + value->text + "\", which is no day of the calendar",
                "write it as 2026-11-25");
    return {};
  }

  void read_equipment(const JsonValue& root, PlanWish& out) {
    const JsonValue* list =
        fields_.member(root, "", "equipment", JsonKind::Array, Presence::Optional);
    if (list == nullptr) return;
    plan::EquipmentSet set;
    for (std::size_t i = 0; i < list->items.size() && !faults_.full(); ++i) {
      const auto found = fields_.word_of(list->items[i], "equipment[" + std::to_string(i) + "]",
                                         words::equipment());
      if (found) set.add(static_cast<plan::Equipment>(*found));
    }
    out.equipment = set;
  }

  void read_letter(const JsonValue& root, PlanWish& out) {
    const JsonValue* letter =
        fields_.member(root, "", "letter", JsonKind::Object, Presence::Optional);
    if (letter == nullptr) return;
    fields_.check_keys(*letter, "letter.", {"recipient", "reason", "request"});
    out.recipient = fields_.texts(*letter, "letter.", "recipient", 0, kLongestLine);
    out.letter_reason =
        fields_.text(*letter, "letter.", "reason", Presence::Optional, kLongestText);
    out.letter_request =
        fields_.text(*letter, "letter.", "request", Presence::Optional, kLongestText);
  }

  FieldReader fields_;
  FaultList& faults_;
};

PlanEdit read_edit(const JsonValue& item, const std::string& path, FieldReader& fields) {
  PlanEdit edit;
  fields.check_keys(item, path, {"drill", "sets", "repetitions", "hold_s", "step", "leave_out"});
  edit.drill = fields.text(item, path, "drill", Presence::Required, kLongestLine);
  edit.sets = fields.whole_number(item, path, "sets", Presence::Optional, 1, 20);
  edit.repetitions = fields.whole_number(item, path, "repetitions", Presence::Optional, 0, 100);
  edit.hold = fields.number(item, path, "hold_s", Presence::Optional, {0.0, 600.0, "s"});
  const auto step = fields.whole_number(item, path, "step", Presence::Optional, 1, 12);
  if (step) edit.step = *step - 1;
  edit.leave_out = fields.boolean(item, path, "leave_out", Presence::Optional).value_or(false);
  return edit;
}

PlanUpdate read_update(const JsonValue& root, FaultList& faults) {
  FieldReader fields(faults);
  PlanUpdate out;
  if (!fields.is_kind(root, "the update", JsonKind::Object)) return out;
  fields.check_keys(root, "", {"edits", "bring_back", "reason"});
  out.reason = fields.text(root, "", "reason", Presence::Optional, kLongestText);
  const bool brings = root.find("bring_back") != nullptr;
  if (brings) {
    out.bring_back =
        fields.whole_number(root, "", "bring_back", Presence::Required, 1, kMostVersions);
  }
  const JsonValue* list = fields.member(root, "", "edits", JsonKind::Array,
                                        brings ? Presence::Optional : Presence::Required,
                                        "give a list of {\"drill\": ..., \"sets\": ...}");
  if (list == nullptr) return out;
  if (brings) {
    faults.add(*list, "edits", "stands beside \"bring_back\"", "send one of the two");
    return out;
  }
  if (list->items.empty() || list->items.size() > kMostEdits) {
    faults.add(*list, "edits", "must have 1 to " + std::to_string(kMostEdits) + " entries");
    return out;
  }
  for (std::size_t i = 0; i < list->items.size() && !faults.full(); ++i) {
    const std::string field = "edits[" + std::to_string(i) + "]";
    if (!fields.is_kind(list->items[i], field, JsonKind::Object)) continue;
    out.edits.push_back(read_edit(list->items[i], field + ".", fields));
  }
  return out;
}

Json wish_json(const PlanWish& wish) {
  Json json = Json::object();
  if (wish.time_per_session) json["minutes"] = number(*wish.time_per_session / 60.0);
  if (wish.sessions) json["sessions"] = *wish.sessions;
  if (wish.weeks) json["weeks"] = *wish.weeks;
  if (wish.goal_date) json["goal_date"] = wish.goal_date->iso();
  if (wish.goal) json["goal_deg"] = number(*wish.goal * kDegrees);
  if (wish.equipment) {
    json["equipment"] = Json::array();
    for (const plan::Equipment e : wish.equipment->list()) {
      json["equipment"].push_back(plan::equipment_name(e));
    }
  }
  if (wish.from) json["from"] = wish.from->iso();
  json["paper"] = wish.letter_paper ? "letter" : "a4";
  json["units"] = wish.imperial ? "imperial" : "metric";
  Json letter = Json::object();
  if (!wish.recipient.empty()) letter["recipient"] = wish.recipient;
  if (!wish.letter_reason.empty()) letter["reason"] = wish.letter_reason;
  if (!wish.letter_request.empty()) letter["request"] = wish.letter_request;
  if (!letter.empty()) json["letter"] = std::move(letter);
  json["seed"] = wish.seed;
  return json;
}

Json edit_json(const PlanEdit& edit) {
  Json json = {{"drill", edit.drill}};
  if (edit.sets) json["sets"] = *edit.sets;
  if (edit.repetitions) json["repetitions"] = *edit.repetitions;
  if (edit.hold) json["hold_s"] = number(*edit.hold);
  if (edit.step) json["step"] = *edit.step + 1;
  if (edit.leave_out) json["leave_out"] = true;
  return json;
}

std::string dump(const Json& json) {
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

tl::unexpected<Error> broken(const std::vector<Error>& faults) {
  if (!faults.empty()) return fail(faults.front());
  return fail(ErrorCode::Invalid, "this is no plan that was kept", "restore it from a backup");
}

std::string text_at(const Json& json, const char* key) {
  const auto found = json.find(key);
  return found != json.end() && found->is_string() ? found->get<std::string>() : std::string();
}

}  // namespace

PlanWishReading read_plan_wish_json(std::string_view text) {
  PlanWishReading reading;
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) {
    reading.wish.emplace();
    return reading;
  }
  FaultList faults;
  auto root = parse_json(text, {std::size_t{64} << 10, 6, 1000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    PlanWish wish = WishReader(faults).read(*root);
    if (faults.empty()) reading.wish = std::move(wish);
  }
  reading.faults = sorted_faults(faults, "");
  return reading;
}

PlanUpdateReading read_plan_update_json(std::string_view text) {
  PlanUpdateReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{64} << 10, 6, 2000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    PlanUpdate update = read_update(*root, faults);
    if (faults.empty()) reading.update = std::move(update);
  }
  reading.faults = sorted_faults(faults, "");
  return reading;
}

std::string write_plan_record_json(const PlanRecordDocument& document) {
  Json json = {{"schema", kSchema},
               {"visit", document.visit},
               {"trial", document.trial.empty() ? Json(nullptr) : Json(document.trial)},
               {"request", wish_json(document.wish)}};
  json["plan"] = Json::parse(write_plan_json(document.plan), nullptr, false);
  json["edits"] = Json::array();
  for (const PlanEdit& edit : document.edits) json["edits"].push_back(edit_json(edit));
  json["files"] = Json::array();
  for (const KeptFile& file : document.files) {
    json["files"].push_back(
        {{"name", file.name}, {"sha256", file.sha256}, {"media_type", file.media_type}});
  }
  return dump(json);
}

Result<PlanRecordDocument> read_plan_record_json(std::string_view text) {
  const Json json = Json::parse(text, nullptr, false);
  if (!json.is_object() || text_at(json, "schema") != kSchema || !json.contains("plan")) {
    return broken({});
  }
  PlanRecordDocument out;
  out.visit = text_at(json, "visit");
  out.trial = text_at(json, "trial");
  auto wish = read_plan_wish_json(json.contains("request") ? json["request"].dump() : "");
  if (!wish.wish) return broken(wish.faults);
  out.wish = *std::move(wish.wish);
  auto plan = read_plan_json(json["plan"].dump(), "");
  if (!plan.plan) return broken(plan.faults);
  out.plan = *std::move(plan.plan);
  if (json.contains("edits") && !json["edits"].empty()) {
    auto update = read_plan_update_json(Json{{"edits", json["edits"]}}.dump());
    if (!update.update) return broken(update.faults);
    out.edits = std::move(update.update->edits);
  }
  for (const Json& file : json.value("files", Json::array())) {
    out.files.push_back(
        {text_at(file, "name"), text_at(file, "sha256"), text_at(file, "media_type")});
  }
  return out;
}

}  // namespace lintel::formats
