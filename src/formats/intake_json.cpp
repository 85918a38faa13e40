#include "formats/intake_json.h"

#include <algorithm>

#include "formats/athlete_json.h"
#include "formats/field_reader.h"
#include "formats/json_numbers.h"
#include "formats/plan_words.h"

namespace lintel::formats {
namespace {

constexpr const char* kSchema = "lintel-intake-1";
constexpr std::size_t kLongestText = 8000;  // [bytes]
constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestTag = 60;
constexpr std::size_t kMostTags = 20;
constexpr double kSteepest = 80.0;  // [deg]

class Reader {
 public:
  explicit Reader(FaultList& faults) : fields_(faults), faults_(faults) {}

  Intake read(const JsonValue& root) {
    Intake intake;
    if (!fields_.is_kind(root, "the file", JsonKind::Object)) return intake;
    fields_.check_keys(root, "",
                       {"schema", "athlete", "birth_date", "sport", "goal", "history", "consent",
                        "tags", "minutes", "sessions_per_week", "equipment", "notes"});
    fields_.check_schema(root, kSchema);
    read_athlete(root, intake);
    intake.birth_date = date(root, "", "birth_date", Presence::Optional);
    intake.sport = fields_.text(root, "", "sport", Presence::Optional, kLongestName);
    read_goal(root, intake);
    intake.history = fields_.text(root, "", "history", Presence::Optional, kLongestText);
    read_consent(root, intake);
    read_tags(root, intake);
    const auto minutes =
        fields_.number(root, "", "minutes", Presence::Optional, {5.0, 120.0, "minutes"});
    if (minutes) intake.time_per_session = *minutes * 60.0;
    intake.sessions_per_week =
        fields_.whole_number(root, "", "sessions_per_week", Presence::Optional, 1, 7);
    read_equipment(root, intake);
    intake.notes = fields_.text(root, "", "notes", Presence::Optional, kLongestText);
    return intake;
  }

 private:
  void read_athlete(const JsonValue& root, Intake& intake) {
    const JsonValue* value = fields_.member(root, "", "athlete", JsonKind::Object,
                                            Presence::Required, "give it a lintel-athlete-1");
    if (value == nullptr) return;
    FaultList inner;
    intake.athlete = read_athlete_value(*value, inner);
    for (Error& fault : inner.take()) {
      fault.place.field = "athlete." + fault.place.field;
      faults_.add(std::move(fault));
    }
  }

  std::optional<Date> date(const JsonValue& object, const std::string& path, const std::string& key,
                           Presence presence) {
    const JsonValue* value = fields_.member(object, path, key, JsonKind::String, presence,
                                            "write the day as 1998-04-17");
    if (value == nullptr) return {};
    const auto day = Date::parse(value->text);
    if (day) return *day;
    faults_.add(*value, path + key, "is \"" + value->text + "\", which is no day of the calendar",
                "write it as 1998-04-17");
    return {};
  }

  void read_goal(const JsonValue& root, Intake& intake) {
    const JsonValue* goal = fields_.member(root, "", "goal", JsonKind::Object, Presence::Optional);
    if (goal == nullptr) return;
    fields_.check_keys(*goal, "goal.", {"lift", "trunk_deg", "date", "words"});
    IntakeGoal out;
    if (const auto lift =
            fields_.word(*goal, "goal.", "lift", Presence::Optional, words::lifts())) {
      out.lift = static_cast<plan::Lift>(*lift);
    }
    if (const auto trunk = fields_.number(*goal, "goal.", "trunk_deg", Presence::Optional,
                                          {0.0, kSteepest, "deg"})) {
      out.trunk_inclination = *trunk * kRadiansPerDegree;
    }
    out.date = date(*goal, "goal.", "date", Presence::Optional);
    out.words = fields_.text(*goal, "goal.", "words", Presence::Optional, kLongestText / 4);
    intake.goal = std::move(out);
  }

  void read_consent(const JsonValue& root, Intake& intake) {
    const JsonValue* consent =
        fields_.member(root, "", "consent", JsonKind::Object, Presence::Optional);
    if (consent == nullptr) return;
    fields_.check_keys(*consent, "consent.", {"given", "date", "by"});
    Consent out;
    out.given = fields_.boolean(*consent, "consent.", "given", Presence::Required).value_or(false);
    out.date = date(*consent, "consent.", "date", Presence::Required).value_or(Date());
    out.by = fields_.text(*consent, "consent.", "by", Presence::Required, kLongestName);
    intake.consent = std::move(out);
  }

  void read_tags(const JsonValue& root, Intake& intake) {
    const auto tags = fields_.texts(root, "", "tags", 0, kLongestTag);
    if (tags.size() > kMostTags) {
      faults_.add(*root.find("tags"), "tags",
                  "has " + std::to_string(tags.size()) + " entries; allowed are " +
                      std::to_string(kMostTags));
      return;
    }
    for (std::string tag : tags) {
      std::transform(tag.begin(), tag.end(), tag.begin(),
                     [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
      if (std::find(intake.tags.begin(), intake.tags.end(), tag) == intake.tags.end()) {
        intake.tags.push_back(std::move(tag));
      }
    }
  }

  void read_equipment(const JsonValue& root, Intake& intake) {
    const JsonValue* list =
        fields_.member(root, "", "equipment", JsonKind::Array, Presence::Optional);
    if (list == nullptr) return;
    const auto known = words::equipment();
    for (std::size_t i = 0; i < list->items.size() && !faults_.full(); ++i) {
      const auto found =
          fields_.word_of(list->items[i], "equipment[" + std::to_string(i) + "]", known);
      if (found) intake.equipment.add(static_cast<plan::Equipment>(*found));
    }
  }

  FieldReader fields_;
  FaultList& faults_;
};

Json goal_json(const IntakeGoal& goal) {
  Json json = Json::object();
  if (goal.lift) json["lift"] = plan::lift_name(*goal.lift);
  if (goal.trunk_inclination) json["trunk_deg"] = number(*goal.trunk_inclination * kDegrees);
  if (goal.date) json["date"] = goal.date->iso();
  if (!goal.words.empty()) json["words"] = goal.words;
  return json;
}

}  // namespace

IntakeReading read_intake_json(std::string_view text, std::string_view file_name) {
  IntakeReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 20, 9, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    Intake intake = Reader(faults).read(*root);
    if (faults.empty()) reading.intake = std::move(intake);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_intake_json(const Intake& intake) {
  Json root = {{"schema", kSchema}};
  root["athlete"] = Json::parse(write_athlete_json(intake.athlete), nullptr, false);
  if (intake.birth_date) root["birth_date"] = intake.birth_date->iso();
  if (!intake.sport.empty()) root["sport"] = intake.sport;
  if (intake.goal) root["goal"] = goal_json(*intake.goal);
  if (!intake.history.empty()) root["history"] = intake.history;
  if (intake.consent) {
    root["consent"] = {{"given", intake.consent->given},
                       {"date", intake.consent->date.iso()},
                       {"by", intake.consent->by}};
  }
  root["tags"] = intake.tags;
  if (intake.time_per_session) root["minutes"] = number(*intake.time_per_session / 60.0);
  if (intake.sessions_per_week) root["sessions_per_week"] = *intake.sessions_per_week;
  root["equipment"] = Json::array();
  for (const plan::Equipment e : intake.equipment.list()) {
    root["equipment"].push_back(plan::equipment_name(e));
  }
  if (!intake.notes.empty()) root["notes"] = intake.notes;
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
