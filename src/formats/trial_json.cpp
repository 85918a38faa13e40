#include "formats/trial_json.h"

#include <algorithm>
#include <nlohmann/json.hpp>

#include "base/date.h"
#include "formats/field_reader.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

using kinematics::Corrections;
using kinematics::Landmark;
using kinematics::RepetitionMoment;

constexpr const char* kSchema = "lintel-trial-1";
constexpr std::size_t kMostPoints = 20'000;
constexpr std::size_t kMostEvents = 300;
constexpr std::size_t kMostResults = 500;
constexpr std::size_t kLongestName = 200;
constexpr std::size_t kLongestNotes = 8000;
constexpr std::size_t kLongestSummary = 64'000;
constexpr int kMostPeople = 50;
constexpr int kMostFrames = 10'000'000;
constexpr double kMostPixels = 100'000;
const NumberRule kVerticalRule{-45.0, 45.0, "deg"};
const NumberRule kDiscRule{150.0, 500.0, "mm"};

const std::vector<std::string> kViews = {"side", "front"};
const std::vector<std::string> kNetworks = {"lite", "full", "heavy"};
const std::vector<std::string> kStates = {"waiting", "measured", "failed"};
const std::vector<std::string> kMoments = {"start", "bottom", "end"};
const std::vector<std::string> kEditKeys = {"name",         "view",        "network",
                                            "notes",        "setup",       "person",
                                            "vertical_deg", "corrections", "no_disc"};
const std::vector<std::string> kServerKeys = {"schema",   "media", "state",
                                              "measured", "fault", "results"};

std::vector<std::string> landmark_words() {
  std::vector<std::string> words;
  for (int i = 0; i < kinematics::kLandmarkCount; ++i) {
    words.emplace_back(kinematics::landmark_name(static_cast<Landmark>(i)));
  }
  return words;
}

std::vector<std::string> setup_words() {
  std::vector<std::string> words = {"bar_position"};
  for (const AthleteField& field : athlete_fields()) {
    if (field.section == "setup") words.push_back(field.key);
  }
  return words;
}

// Null says the same as a key that is left out.
void drop_nulls(JsonValue& value) {
  std::erase_if(value.members, [](const JsonMember& m) { return m.value.kind == JsonKind::Null; });
  for (JsonMember& m : value.members) drop_nulls(m.value);
}

Json json_of(const JsonValue& value) {
  switch (value.kind) {
    case JsonKind::Null:
      return nullptr;
    case JsonKind::Boolean:
      return value.boolean;
    case JsonKind::Number:
      return value.number;
    case JsonKind::String:
      return value.text;
    case JsonKind::Array: {
      Json list = Json::array();
      for (const JsonValue& item : value.items) list.push_back(json_of(item));
      return list;
    }
    case JsonKind::Object:
      break;
  }
  Json object = Json::object();
  for (const JsonMember& m : value.members) object[m.name] = json_of(m.value);
  return object;
}

class Reader {
 public:
  explicit Reader(FaultList& faults) : fields_(faults), landmarks_(landmark_words()) {}
  FieldReader& fields() { return fields_; }

  TrialEdit edit(const JsonValue& root) {
    TrialEdit edit;
    edit.name = fields_.text(root, "", "name", Presence::Optional, kLongestName);
    if (const auto view = fields_.word(root, "", "view", Presence::Optional, kViews)) {
      edit.view = kViews[*view];
    }
    if (const auto network = fields_.word(root, "", "network", Presence::Optional, kNetworks)) {
      edit.network = kNetworks[*network];
    }
    if (const JsonValue* notes =
            fields_.member(root, "", "notes", JsonKind::String, Presence::Optional)) {
      edit.notes = notes->text.substr(0, kLongestNotes);
    }
    edit.setup = setup(root);
    edit.person = fields_.whole_number(root, "", "person", Presence::Optional, 1, kMostPeople);
    edit.vertical_roll = scaled(root, "", "vertical_deg", kVerticalRule, kRadiansPerDegree);
    edit.look_for_disc = !fields_.boolean(root, "", "no_disc", Presence::Optional).value_or(false);
    if (const JsonValue* object =
            fields_.member(root, "", "corrections", JsonKind::Object, Presence::Optional)) {
      edit.corrections = corrections(*object);
    }
    return edit;
  }

  TrialDocument trial(const JsonValue& root) {
    TrialDocument trial;
    if (!fields_.is_kind(root, "the file", JsonKind::Object)) return trial;
    std::vector<std::string> known = kEditKeys;
    known.insert(known.end(), kServerKeys.begin(), kServerKeys.end());
    fields_.check_keys(root, "", known);
    fields_.check_schema(root, kSchema);
    trial.edit = edit(root);
    if (const JsonValue* clip =
            fields_.member(root, "", "media", JsonKind::Object, Presence::Required)) {
      trial.clip = file(*clip, "media.");
    }
    if (const auto state = fields_.word(root, "", "state", Presence::Required, kStates)) {
      trial.state = static_cast<TrialState>(*state);
    }
    read_outcome(root, trial);
    const JsonValue* results =
        fields_.member(root, "", "results", JsonKind::Array, Presence::Required);
    if (results == nullptr) return trial;
    if (results->items.size() > kMostResults) {
      fields_.faults().add(*results, "results", "has too many entries");
      return trial;
    }
    for (std::size_t i = 0; i < results->items.size() && !fields_.faults().full(); ++i) {
      const std::string field = "results[" + std::to_string(i) + "]";
      if (!fields_.is_kind(results->items[i], field, JsonKind::Object)) continue;
      trial.results.push_back(file(results->items[i], field + "."));
    }
    return trial;
  }

 private:
  std::optional<double> scaled(const JsonValue& object, const std::string& path,
                               const std::string& key, const NumberRule& rule, double factor) {
    const auto value = fields_.number(object, path, key, Presence::Optional, rule);
    if (!value) return {};
    return *value * factor;
  }

  std::string setup(const JsonValue& root) {
    const JsonValue* object =
        fields_.member(root, "", "setup", JsonKind::Object, Presence::Optional);
    if (object == nullptr || object->members.empty()) return {};
    fields_.check_keys(*object, "setup.", setup_words());
    for (const JsonMember& m : object->members) {
      fields_.is_kind(m.value, "setup." + m.name,
                      m.name == "bar_position" ? JsonKind::String : JsonKind::Number);
    }
    return json_of(*object).dump(-1, ' ', false, Json::error_handler_t::replace);
  }

  Corrections corrections(const JsonValue& object) {
    const std::string path = "corrections.";
    fields_.check_keys(object, path, {"points", "events", "person", "vertical_deg", "disc_mm"});
    Corrections out;
    constexpr double kMetresPerMillimetre = 0.001;
    out.person = fields_.whole_number(object, path, "person", Presence::Optional, 1, kMostPeople);
    out.vertical_roll = scaled(object, path, "vertical_deg", kVerticalRule, kRadiansPerDegree);
    out.disc_diameter = scaled(object, path, "disc_mm", kDiscRule, kMetresPerMillimetre);
    each(object, path, "points", kMostPoints, [&](const JsonValue& item, const std::string& field) {
      fields_.check_keys(item, field, {"frame", "landmark", "x_px", "y_px"});
      const NumberRule pixels{-kMostPixels, kMostPixels, "px"};
      const auto frame =
          fields_.whole_number(item, field, "frame", Presence::Required, 0, kMostFrames);
      const auto landmark = fields_.word(item, field, "landmark", Presence::Required, landmarks_);
      const auto x = fields_.number(item, field, "x_px", Presence::Required, pixels);
      const auto y = fields_.number(item, field, "y_px", Presence::Required, pixels);
      if (!frame || !landmark || !x || !y) return;
      out.points.push_back({*frame,
                            static_cast<Landmark>(*landmark),
                            {static_cast<float>(*x), static_cast<float>(*y)}});
    });
    each(object, path, "events", kMostEvents, [&](const JsonValue& item, const std::string& field) {
      fields_.check_keys(item, field, {"repetition", "event", "frame"});
      const auto repetition =
          fields_.whole_number(item, field, "repetition", Presence::Required, 1, 1000);
      const auto event = fields_.word(item, field, "event", Presence::Required, kMoments);
      const auto frame =
          fields_.whole_number(item, field, "frame", Presence::Required, 0, kMostFrames);
      if (!repetition || !event || !frame) return;
      out.events.push_back({*repetition, static_cast<RepetitionMoment>(*event), *frame});
    });
    return out;
  }

  template <typename F>
  void each(const JsonValue& object, const std::string& path, const std::string& key,
            std::size_t most, F&& read) {
    const JsonValue* list = fields_.member(object, path, key, JsonKind::Array, Presence::Optional);
    if (list == nullptr) return;
    if (list->items.size() > most) {
      fields_.faults().add(*list, path + key,
                           "has " + std::to_string(list->items.size()) + " entries; allowed are " +
                               std::to_string(most));
      return;
    }
    for (std::size_t i = 0; i < list->items.size() && !fields_.faults().full(); ++i) {
      const std::string field = path + key + "[" + std::to_string(i) + "]";
      if (fields_.is_kind(list->items[i], field, JsonKind::Object)) {
        read(list->items[i], field + ".");
      }
    }
  }

  StoredFile file(const JsonValue& object, const std::string& path) {
    fields_.check_keys(object, path, {"name", "sha256", "media_type", "bytes"});
    StoredFile out;
    constexpr std::size_t kDigest = 64;
    constexpr double kMostBytes = 1e15;
    out.name = fields_.text(object, path, "name", Presence::Required, kLongestName);
    out.sha256 = fields_.text(object, path, "sha256", Presence::Required, kDigest);
    out.media_type = fields_.text(object, path, "media_type", Presence::Required, 100);
    const auto bytes =
        fields_.number(object, path, "bytes", Presence::Required, {0, kMostBytes, "bytes"});
    out.bytes = static_cast<std::int64_t>(bytes.value_or(0));
    return out;
  }

  void read_outcome(const JsonValue& root, TrialDocument& trial) {
    if (const JsonValue* measured =
            fields_.member(root, "", "measured", JsonKind::Object, Presence::Optional)) {
      const std::string path = "measured.";
      fields_.check_keys(
          *measured, path,
          {"at", "program_version", "corrected", "summary", "network", "person", "no_disc"});
      trial.measured_at = fields_.text(*measured, path, "at", Presence::Required, 40);
      trial.program_version =
          fields_.text(*measured, path, "program_version", Presence::Required, 40);
      trial.corrected =
          fields_.boolean(*measured, path, "corrected", Presence::Required).value_or(false);
      trial.summary = fields_.text(*measured, path, "summary", Presence::Optional, kLongestSummary);
      if (const auto network =
              fields_.word(*measured, path, "network", Presence::Required, kNetworks)) {
        trial.look.network = kNetworks[*network];
      }
      trial.look.person =
          fields_.whole_number(*measured, path, "person", Presence::Optional, 1, kMostPeople);
      trial.look.look_for_disc =
          !fields_.boolean(*measured, path, "no_disc", Presence::Optional).value_or(false);
    }
    if (const JsonValue* fault =
            fields_.member(root, "", "fault", JsonKind::Object, Presence::Optional)) {
      fields_.check_keys(*fault, "fault.", {"message", "mend"});
      trial.fault = fields_.text(*fault, "fault.", "message", Presence::Required, kLongestSummary);
      trial.mend = fields_.text(*fault, "fault.", "mend", Presence::Optional, kLongestSummary);
    }
  }

  FieldReader fields_;
  std::vector<std::string> landmarks_;
};

std::optional<JsonValue> parse(std::string_view text, FaultList& faults) {
  JsonLimits limits;
  limits.bytes = std::size_t{4} << 20;
  limits.values = 150'000;
  limits.depth = 8;
  auto root = parse_json(text, limits);
  if (!root) {
    faults.add(std::move(root).error());
    return std::nullopt;
  }
  drop_nulls(*root);
  return *std::move(root);
}

Json file_json(const StoredFile& file) {
  return {{"name", file.name},
          {"sha256", file.sha256},
          {"media_type", file.media_type},
          {"bytes", file.bytes}};
}

Json corrections_json(const Corrections& corrections) {
  constexpr double kMillimetresPerMetre = 1000.0;
  Json json = {{"points", Json::array()}, {"events", Json::array()}};
  for (const kinematics::MovedPoint& point : corrections.points) {
    json["points"].push_back({{"frame", point.frame},
                              {"landmark", kinematics::landmark_name(point.landmark)},
                              {"x_px", number(static_cast<double>(point.position_px.x()))},
                              {"y_px", number(static_cast<double>(point.position_px.y()))}});
  }
  for (const kinematics::ShiftedEvent& event : corrections.events) {
    json["events"].push_back({{"repetition", event.repetition},
                              {"event", kinematics::repetition_moment_name(event.moment)},
                              {"frame", event.frame}});
  }
  json["person"] = corrections.person ? Json(*corrections.person) : Json(nullptr);
  json["vertical_deg"] =
      corrections.vertical_roll ? number(*corrections.vertical_roll * kDegrees) : Json(nullptr);
  json["disc_mm"] = corrections.disc_diameter
                        ? number(*corrections.disc_diameter * kMillimetresPerMetre)
                        : Json(nullptr);
  return json;
}

Json object_or_empty(const std::string& text) {
  Json json = Json::parse(text, nullptr, false);
  return json.is_object() ? json : Json::object();
}

}  // namespace

const StoredFile* TrialDocument::result(std::string_view name) const {
  const auto found = std::ranges::find(results, name, &StoredFile::name);
  return found == results.end() ? nullptr : &*found;
}

TrialReading read_trial_json(std::string_view text, std::string_view file_name) {
  TrialReading reading;
  FaultList faults;
  if (const auto root = parse(text, faults)) {
    TrialDocument trial = Reader(faults).trial(*root);
    if (faults.empty()) reading.trial = std::move(trial);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_trial_json(const TrialDocument& trial) {
  const TrialEdit& edit = trial.edit;
  Json root = {{"schema", kSchema}};
  if (!edit.name.empty()) root["name"] = edit.name;
  root["view"] = edit.view;
  if (!edit.network.empty()) root["network"] = edit.network;
  root["notes"] = edit.notes;
  root["setup"] = object_or_empty(edit.setup);
  root["person"] = edit.person ? Json(*edit.person) : Json(nullptr);
  root["vertical_deg"] =
      edit.vertical_roll ? number(*edit.vertical_roll * kDegrees) : Json(nullptr);
  root["no_disc"] = !edit.look_for_disc;
  root["corrections"] = corrections_json(edit.corrections);
  root["media"] = file_json(trial.clip);
  root["state"] = kStates[static_cast<std::size_t>(trial.state)];
  root["measured"] = nullptr;
  if (!trial.measured_at.empty()) {
    root["measured"] = {{"at", trial.measured_at},
                        {"program_version", trial.program_version},
                        {"corrected", trial.corrected},
                        {"network", trial.look.network},
                        {"person", trial.look.person ? Json(*trial.look.person) : Json(nullptr)},
                        {"no_disc", !trial.look.look_for_disc}};
    if (!trial.summary.empty()) root["measured"]["summary"] = trial.summary;
  }
  root["fault"] = nullptr;
  if (!trial.fault.empty()) {
    root["fault"] = {{"message", trial.fault}};
    if (!trial.mend.empty()) root["fault"]["mend"] = trial.mend;
  }
  root["results"] = Json::array();
  for (const StoredFile& file : trial.results) root["results"].push_back(file_json(file));
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Look look_of(const TrialEdit& edit) {
  Look look;
  if (!edit.network.empty()) look.network = edit.network;
  look.person = edit.corrections.person ? edit.corrections.person : edit.person;
  look.look_for_disc = edit.look_for_disc;
  return look;
}

bool same_measurement(const TrialEdit& one, const TrialEdit& other) {
  const auto key = [](TrialEdit edit) {
    edit.name = edit.notes = "";
    TrialDocument document;
    document.edit = std::move(edit);
    return write_trial_json(document);
  };
  return key(one) == key(other);
}

NewTrialReading read_new_trial_json(std::string_view text) {
  NewTrialReading reading;
  FaultList faults;
  if (const auto root = parse(text, faults)) {
    Reader reader(faults);
    NewTrialBody body;
    if (reader.fields().is_kind(*root, "the body", JsonKind::Object)) {
      std::vector<std::string> known = kEditKeys;
      known.insert(known.end(), {"upload", "media"});
      reader.fields().check_keys(*root, "", known);
      body.edit = reader.edit(*root);
      body.upload = reader.fields().text(*root, "", "upload", Presence::Optional, 64);
      body.media = reader.fields().text(*root, "", "media", Presence::Optional, 64);
      if (body.upload.empty() == body.media.empty()) {
        faults.add(*root, "upload", "give either \"upload\" or \"media\"",
                   "the id of a complete upload, or the digest of a clip that is here already");
      }
    }
    if (faults.empty()) reading.body = std::move(body);
  }
  reading.faults = sorted_faults(faults, "");
  return reading;
}

TrialEditReading read_trial_edit_json(std::string_view text) {
  TrialEditReading reading;
  FaultList faults;
  if (const auto root = parse(text, faults)) {
    Reader reader(faults);
    TrialEdit edit;
    if (reader.fields().is_kind(*root, "the body", JsonKind::Object)) {
      std::vector<std::string> known = kEditKeys;
      known.insert(known.end(), kServerKeys.begin(), kServerKeys.end());
      reader.fields().check_keys(*root, "", known);
      edit = reader.edit(*root);
    }
    if (faults.empty()) reading.edit = std::move(edit);
  }
  reading.faults = sorted_faults(faults, "");
  return reading;
}

Result<std::string> athlete_of_intake(std::string_view intake, std::string_view setup) {
  const Json root = Json::parse(intake, nullptr, false);
  const auto athlete = root.is_object() ? root.find("athlete") : root.end();
  if (!root.is_object() || athlete == root.end() || !athlete->is_object()) {
    return fail(ErrorCode::Invalid, "the athlete's record holds no athlete to measure with",
                "complete the intake: name, sex and stature at least");
  }
  Json out = *athlete;
  if (!setup.empty()) {
    const Json changes = Json::parse(setup, nullptr, false);
    if (!changes.is_object()) return fail(ErrorCode::Invalid, "the setup is no JSON object");
    if (!out.contains("setup") || !out["setup"].is_object()) out["setup"] = Json::object();
    for (const auto& [key, value] : changes.items()) out["setup"][key] = value;
  }
  return out.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

std::string date_of_visit(std::string_view visit) {
  const Json root = Json::parse(visit, nullptr, false);
  const auto date = root.is_object() ? root.find("date") : root.end();
  if (!root.is_object() || date == root.end() || !date->is_string()) return {};
  const auto parsed = Date::parse(date->get<std::string>().substr(0, 10));
  return parsed ? parsed->iso() : std::string();
}

}  // namespace lintel::formats
