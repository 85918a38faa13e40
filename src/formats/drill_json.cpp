#include "formats/drill_json.h"

#include <algorithm>
#include <span>

#include "base/embedded_file.h"
#include "formats/field_reader.h"
#include "formats/json_place.h"
#include "formats/plan_words.h"
#include "formats/protocol_words.h"
#include "formats/sketch_json.h"

namespace lintel::embedded {
std::span<const EmbeddedFile> drill_files();
}  // namespace lintel::embedded

namespace lintel::formats {
namespace {

using plan::Drill;

constexpr std::size_t kLongestWord = 60;
constexpr std::size_t kLongestText = 600;
constexpr std::size_t kMostEntries = 12;  // of a list of objects

class DrillReader {
 public:
  explicit DrillReader(FaultList& faults) : read_(faults), faults_(faults) {}

  Drill read(const JsonValue& root, std::optional<Sketch>& drawing) {
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return {};
    read_.check_keys(root, "",
                     {"schema", "id", "name", "purpose", "targets", "mode", "position", "steps",
                      "cues", "equipment", "doses", "dose_source", "ladder", "prerequisites",
                      "loaded", "cautions", "not_with", "source", "drawing"});
    read_.check_schema(root, "lintel-drill-1");
    read_.check_plain(root);
    read_texts(root);
    read_lists(root);
    read_equipment(root);
    read_warning_signs(root);
    drawing = read_drawing(root, read_, "draw the drill");
    if (drawing) out_.drawing = *drawing;
    if (faults_.empty()) add_with_places(root, plan::find_faults(out_), faults_);
    return std::move(out_);
  }

 private:
  std::string source(const JsonValue& object, const std::string& path, const std::string& key) {
    std::string text = read_.text(object, path, key, Presence::Required, kLongestText);
    if (!text.empty() && !names_a_source(text)) {
      faults_.add(*object.find(key), path + key, "names no source",
                  "cite author and year, or write \"common practice, no source\"");
    }
    return text;
  }

  void read_texts(const JsonValue& root) {
    out_.id = read_.text(root, "", "id", Presence::Required, kLongestWord);
    out_.name = read_.text(root, "", "name", Presence::Required, kLongestWord);
    out_.purpose = read_.text(root, "", "purpose", Presence::Required, kLongestText);
    out_.position = read_.text(root, "", "position", Presence::Required, kLongestText);
    out_.steps = read_.texts(root, "", "steps", 1, kLongestText);
    out_.cues = read_.texts(root, "", "cues", 1, kLongestWord);
    out_.cautions = read_.texts(root, "", "cautions", 1, kLongestText);
    out_.dose_source = source(root, "", "dose_source");
    out_.source = source(root, "", "source");
    out_.loaded = read_.boolean(root, "", "loaded", Presence::Required).value_or(true);
    if (const auto mode = read_.word(root, "", "mode", Presence::Required, words::modes())) {
      out_.mode = static_cast<plan::Mode>(*mode);
    }
  }

  // Calls read_entry(object, "doses[0].") for each object of the list.
  template <typename ReadEntry>
  void each_object(const JsonValue& root, const std::string& key, ReadEntry read_entry) {
    const JsonValue* list =
        read_.member(root, "", key, JsonKind::Array, Presence::Required, "give a list");
    if (list == nullptr) return;
    if (list->items.size() > kMostEntries) {
      faults_.add(*list, key, "has more than " + std::to_string(kMostEntries) + " entries");
      return;
    }
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string field = key + "[" + std::to_string(i) + "]";
      if (read_.is_kind(list->items[i], field, JsonKind::Object)) {
        read_entry(list->items[i], field + ".");
      }
    }
  }

  void read_lists(const JsonValue& root) {
    each_object(root, "targets",
                [this](const JsonValue& v, const std::string& p) { read_target(v, p); });
    each_object(root, "doses",
                [this](const JsonValue& v, const std::string& p) { read_dose(v, p); });
    each_object(root, "ladder",
                [this](const JsonValue& v, const std::string& p) { read_step(v, p); });
    each_object(root, "prerequisites",
                [this](const JsonValue& v, const std::string& p) { read_prerequisite(v, p); });
  }

  double number(const JsonValue& v, const std::string& path, const std::string& key, double lowest,
                double highest) {
    return read_.number(v, path, key, Presence::Required, {lowest, highest}).value_or(lowest);
  }
  int whole(const JsonValue& v, const std::string& path, const std::string& key, int lowest,
            int highest) {
    return read_.whole_number(v, path, key, Presence::Required, lowest, highest).value_or(lowest);
  }

  void read_target(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path,
                     {"part", "gain_deg_per_week", "gain_sd_deg_per_week",
                      "reference_minutes_per_week", "weeks", "source"});
    plan::Target target;
    if (const auto part = read_.word(v, path, "part", Presence::Required, words::parts())) {
      target.part = static_cast<reasoning::Factor>(*part);
    }
    plan::Gain& gain = target.gain;
    gain.per_week = number(v, path, "gain_deg_per_week", 0.0, 10.0) * kRadiansPerDegree;
    gain.standard_deviation =
        number(v, path, "gain_sd_deg_per_week", 0.01, 20.0) * kRadiansPerDegree;
    gain.reference_time = number(v, path, "reference_minutes_per_week", 1.0, 1440.0) * 60.0;
    gain.weeks = number(v, path, "weeks", 1.0, 52.0);
    gain.source = source(v, path, "source");
    gain.has_source = !owns_up_to_no_source(gain.source);
    out_.targets.push_back(std::move(target));
  }

  void read_dose(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path,
                     {"sets", "repetitions", "hold_s", "times_per_week", "minutes_per_session"});
    plan::Dose dose;
    dose.sets = whole(v, path, "sets", 1, 20);
    dose.repetitions = whole(v, path, "repetitions", 0, 100);
    dose.hold = number(v, path, "hold_s", 0.0, 600.0);
    dose.times_per_week = whole(v, path, "times_per_week", 1, 7);
    dose.time_per_session = number(v, path, "minutes_per_session", 0.5, 60.0) * 60.0;
    out_.doses.push_back(dose);
  }

  void read_step(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path,
                     {"name", "how", "easier", "harder", "move_on", "good_sessions",
                      "effort_at_most", "loaded"});
    const auto text = [&](const char* key) {
      return read_.text(v, path, key, Presence::Required, kLongestText);
    };
    plan::LadderStep step;
    step.name = text("name");
    step.how = text("how");
    step.easier = text("easier");
    step.harder = text("harder");
    step.move_on = text("move_on");
    step.good_sessions = whole(v, path, "good_sessions", 1, 30);
    step.effort_at_most = number(v, path, "effort_at_most", 1.0, 10.0);
    step.loaded = read_.boolean(v, path, "loaded", Presence::Required).value_or(true);
    out_.ladder.push_back(std::move(step));
  }

  void read_prerequisite(const JsonValue& v, const std::string& path) {
    read_.check_keys(v, path, {"drill", "step"});
    plan::Prerequisite before;
    before.drill = read_.text(v, path, "drill", Presence::Required, kLongestWord);
    before.step = whole(v, path, "step", 1, static_cast<int>(kMostEntries)) - 1;
    out_.prerequisites.push_back(std::move(before));
  }

  void read_equipment(const JsonValue& root) {
    const JsonValue* list = read_.member(
        root, "", "equipment", JsonKind::Array, Presence::Required,
        "list what is needed, each a list of things of which one is enough; [] = none");
    if (list == nullptr) return;
    for (std::size_t i = 0; i < std::min(list->items.size(), kMostEntries); ++i) {
      const std::string field = "equipment[" + std::to_string(i) + "]";
      if (!read_.is_kind(list->items[i], field, JsonKind::Array)) continue;
      plan::EquipmentSet any;
      const auto& items = list->items[i].items;
      for (std::size_t k = 0; k < items.size(); ++k) {
        const auto word =
            read_.word_of(items[k], field + "[" + std::to_string(k) + "]", words::equipment());
        if (word) any.add(static_cast<plan::Equipment>(*word));
      }
      out_.needs.push_back(any);
    }
  }

  void read_warning_signs(const JsonValue& root) {
    const JsonValue* list =
        read_.member(root, "", "not_with", JsonKind::Array, Presence::Required,
                     "list the warning signs under which the drill is not done; [] = none");
    if (list == nullptr) return;
    for (std::size_t i = 0; i < std::min(list->items.size(), kMostEntries); ++i) {
      const auto sign = read_.word_of(list->items[i], "not_with[" + std::to_string(i) + "]",
                                      words::warning_signs());
      if (sign) out_.not_with.push_back(static_cast<body::WarningSign>(*sign));
    }
  }

  FieldReader read_;
  FaultList& faults_;
  Drill out_;
};

std::vector<Drill> read_built_in() {
  std::vector<Drill> drills;
  for (const EmbeddedFile& file : embedded::drill_files()) {
    DrillReading reading = read_drill_json(*file.text, file.name);
    LINTEL_CHECK(reading.drill.has_value());  // a test reads every file and shows its faults
    drills.push_back(*std::move(reading.drill));
  }
  LINTEL_CHECK(plan::find_faults(std::span<const Drill>(drills)).empty());
  return drills;
}

}  // namespace

DrillReading read_drill_json(std::string_view text, std::string_view file_name) {
  DrillReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{1} << 18, 12, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    Drill drill = DrillReader(faults).read(*root, reading.drawing);
    reading.name = drill.name;
    if (faults.empty()) reading.drill = std::move(drill);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

const std::vector<Drill>& built_in_drills() {
  static const std::vector<Drill> drills = read_built_in();
  return drills;
}

}  // namespace lintel::formats
