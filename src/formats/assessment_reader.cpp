#include "formats/assessment_reader.h"

#include <array>
#include <limits>
#include <string>

#include "formats/assessment_channels.h"
#include "formats/field_reader.h"
#include "formats/located_json.h"

namespace lintel::formats {
namespace {

using kinematics::Measurement;
using kinematics::Repetition;

constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();

// Reads what is there and collects faults; `field` is the path of the object with its point.
class Reader {
 public:
  explicit Reader(FaultList& faults) : faults_(faults) {}

  // Null and missing are the same here: not known.
  const JsonValue* find(const JsonValue* object, std::string_view key, JsonKind kind,
                        const std::string& field) {
    const JsonValue* value = object == nullptr ? nullptr : object->find(key);
    if (value == nullptr || value->kind == JsonKind::Null) return nullptr;
    if (value->kind == kind) return value;
    faults_.add(*value, field + std::string(key),
                std::string(json_kind_name(kind)) + " or null is needed");
    return nullptr;
  }
  double number(const JsonValue* object, std::string_view key, double factor,
                const std::string& field) {
    const JsonValue* value = find(object, key, JsonKind::Number, field);
    return value == nullptr ? kUnknown : value->number / factor;
  }
  std::string text(const JsonValue* object, std::string_view key, const std::string& field) {
    const JsonValue* value = find(object, key, JsonKind::String, field);
    return value == nullptr ? std::string() : value->text;
  }
  bool boolean(const JsonValue* object, std::string_view key, const std::string& field) {
    const JsonValue* value = find(object, key, JsonKind::Boolean, field);
    return value != nullptr && value->boolean;
  }
  Estimate estimate(const JsonValue* object, std::string_view key, double factor,
                    const std::string& field) {
    const JsonValue* value = find(object, key, JsonKind::Object, field);
    const std::string path = field + std::string(key) + ".";
    const Estimate read{number(value, "value", factor, path),
                        number(value, "standard_error", factor, path)};
    if (read.standard_error < 0) {
      faults_.add(*value, path + "standard_error", "is negative",
                  "give the assessment.json as it was written");
    }
    return read;
  }
  template <typename Use>
  void each(const JsonValue* object, std::string_view key, const std::string& field,
            const Use& use) {
    const JsonValue* list = find(object, key, JsonKind::Array, field);
    if (list == nullptr) return;
    for (std::size_t i = 0; i < list->items.size(); ++i) {
      const std::string path = field + std::string(key) + "[" + std::to_string(i) + "]";
      if (list->items[i].kind == JsonKind::Object) {
        use(list->items[i], path + ".");
      } else {
        faults_.add(list->items[i], path, "an object is needed");
      }
    }
  }

 private:
  FaultList& faults_;
};

std::optional<double> known(double value) {
  return value == value ? std::optional<double>(value) : std::nullopt;
}

void read_facts(Reader& read, const JsonValue& root, view::Assessment& facts) {
  facts.program_version =
      read.text(read.find(&root, "program", JsonKind::Object, ""), "version", "program.");
  facts.assessed_on = read.text(&root, "assessed_on", "");
  const JsonValue* athlete = read.find(&root, "athlete", JsonKind::Object, "");
  facts.athlete_id = read.text(athlete, "id", "athlete.");
  facts.athlete_name = read.text(athlete, "name", "athlete.");
  const JsonValue* clip = read.find(&root, "clip", JsonKind::Object, "");
  facts.clip.file_name = read.text(clip, "file_name", "clip.");
  facts.clip.sha256 = read.text(clip, "sha256", "clip.");
  facts.clip.recorded_on = read.text(clip, "recorded_on", "clip.");
  facts.clip.frame_rate = known(read.number(clip, "frame_rate_hz", 1, "clip.")).value_or(0);
  facts.clip.duration = known(read.number(clip, "duration_s", 1, "clip.")).value_or(0);
  const JsonValue* setup = read.find(&root, "setup", JsonKind::Object, "");
  facts.setup.bar_mass = known(read.number(setup, "bar_mass_kg", 1, "setup."));
  facts.setup.stance_width = known(read.number(setup, "stance_width_cm", kCentimetres, "setup."));
  facts.setup.toe_out = known(read.number(setup, "toe_out_deg", kDegrees, "setup."));
  facts.setup.heel_elevation =
      known(read.number(setup, "heel_elevation_cm", kCentimetres, "setup."));
  facts.setup.grip_width = known(read.number(setup, "grip_width_cm", kCentimetres, "setup."));
  facts.setup.bar_position = read.text(setup, "bar_position", "setup.");
}

void read_camera(Reader& read, const JsonValue* camera, kinematics::CameraCheck& check) {
  const std::string view = read.text(camera, "view", "camera.");
  check.view = view == "side"      ? kinematics::View::Side
               : view == "front"   ? kinematics::View::Front
               : view == "oblique" ? kinematics::View::Oblique
                                   : kinematics::View::Unknown;
  check.near_side = read.text(camera, "near_side", "camera.") == "left"
                        ? kinematics::BodySide::Left
                        : kinematics::BodySide::Right;
  check.facing = read.text(camera, "facing", "camera.") == "left" ? -1 : 1;
  check.yaw = read.estimate(camera, "yaw_deg", kDegrees, "camera.");
  check.roll = read.estimate(camera, "roll_deg", kDegrees, "camera.");
  check.pitch = read.estimate(camera, "pitch_deg", kDegrees, "camera.");
  check.distance = read.estimate(camera, "distance_m", 1, "camera.");
  check.yaw_corrected = read.boolean(camera, "yaw_corrected", "camera.");
}

// Adds the moment to the frames of the measurement and gives its index.
std::size_t read_moment(Reader& read, const JsonValue* repetition, std::string_view key,
                        const std::string& field, Measurement& m) {
  const JsonValue* moment = read.find(repetition, key, JsonKind::Object, field);
  const std::string path = field + std::string(key) + ".";
  const double frame = read.number(moment, "frame", 1, path);
  m.frame_index.push_back(frame >= 0 && frame < 1e12 ? static_cast<std::int64_t>(frame) : -1);
  m.time.push_back(read.number(moment, "time_s", 1, path));
  return m.time.size() - 1;
}

Repetition read_repetition(Reader& read, const JsonValue& object, const std::string& field,
                           Measurement& m) {
  Repetition repetition;
  const std::string outcome = read.text(&object, "outcome", field);
  repetition.outcome = outcome == "completed" ? kinematics::RepetitionOutcome::Completed
                       : outcome == "failed"  ? kinematics::RepetitionOutcome::Failed
                                              : kinematics::RepetitionOutcome::CutOff;
  repetition.start_frame = read_moment(read, &object, "start", field, m);
  repetition.bottom_frame = read_moment(read, &object, "bottom", field, m);
  repetition.end_frame = read_moment(read, &object, "end", field, m);
  repetition.descent_duration = read.number(&object, "descent_s", 1, field);
  repetition.bottom_duration = read.number(&object, "near_bottom_s", 1, field);
  repetition.ascent_duration = read.number(&object, "ascent_s", 1, field);
  read.each(&object, "pauses", field, [&](const JsonValue& pause, const std::string& path) {
    repetition.pauses.push_back(
        {read.number(&pause, "start_s", 1, path), read.number(&pause, "duration_s", 1, path)});
  });
  repetition.below_parallel = read.boolean(&object, "below_parallel", field);
  repetition.shoulder_change_demanded =
      read.estimate(&object, "shoulder_change_demanded_deg", kDegrees, field);
  repetition.shoulder_change_given =
      read.estimate(&object, "shoulder_change_given_deg", kDegrees, field);
  const JsonValue* channels = read.find(&object, "channels", JsonKind::Object, field);
  for (std::size_t c = 0; c < repetition.channels.size(); ++c) {
    const ChannelUnits units = units_of(c);
    const JsonValue* channel =
        read.find(channels, units.key, JsonKind::Object, field + "channels.");
    const std::string path = field + "channels." + units.key + ".";
    repetition.channels[c] = {read.estimate(channel, "start", units.factor, path),
                              read.estimate(channel, "bottom", units.factor, path),
                              read.estimate(channel, "change", units.factor, path)};
  }
  return repetition;
}

std::optional<kinematics::WarningCode> find_warning_code(const std::string& name) {
  constexpr auto kLast = static_cast<int>(kinematics::WarningCode::CorrectedByHand);
  for (int i = 0; i <= kLast; ++i) {
    const auto code = static_cast<kinematics::WarningCode>(i);
    if (kinematics::warning_code_name(code) == name) return code;
  }
  return std::nullopt;
}

void read_side(Reader& read, const JsonValue& root, Measurement& m) {
  read_camera(read, read.find(&root, "camera", JsonKind::Object, ""), m.camera);
  const JsonValue* scale = read.find(&root, "scale", JsonKind::Object, "");
  const std::string source = read.text(scale, "source", "scale.");
  m.camera.scale_source = source == "disc"      ? kinematics::ScaleSource::Disc
                          : source == "stature" ? kinematics::ScaleSource::Stature
                                                : kinematics::ScaleSource::None;
  m.camera.pixels_per_metre = read.estimate(scale, "pixels_per_metre", 1, "scale.");
  read.each(&root, "warnings", "", [&](const JsonValue& warning, const std::string& path) {
    const auto code = find_warning_code(read.text(&warning, "code", path));
    if (!code) return;  // of a newer program
    m.warnings.push_back(
        {*code, read.text(&warning, "message", path), read.text(&warning, "advice", path)});
  });
  read.each(&root, "repetitions", "", [&](const JsonValue& repetition, const std::string& path) {
    m.repetitions.push_back(read_repetition(read, repetition, path, m));
  });
  const JsonValue* consistency = read.find(&root, "consistency", JsonKind::Object, "");
  m.consistency.repetitions = static_cast<int>(
      known(read.number(consistency, "repetitions", 1, "consistency.")).value_or(0));
  const JsonValue* bottom = read.find(consistency, "bottom", JsonKind::Object, "consistency.");
  for (std::size_t c = 0; c < m.consistency.bottom.size(); ++c) {
    const ChannelUnits units = units_of(c);
    const std::string path = "consistency.bottom." + units.key + ".";
    const JsonValue* channel =
        read.find(bottom, units.key, JsonKind::Object, "consistency.bottom.");
    m.consistency.bottom[c] = {read.number(channel, "mean", units.factor, path),
                               read.number(channel, "standard_deviation", units.factor, path)};
  }
}

void read_front(Reader& read, const JsonValue* front, kinematics::FrontMeasurement& m) {
  const std::string path = "front.";
  const auto sides = [&](const char* key, double factor) {
    const JsonValue* both = read.find(front, key, JsonKind::Object, path);
    const std::string place = path + key + ".";
    return std::array<Estimate, 2>{read.estimate(both, "left", factor, place),
                                   read.estimate(both, "right", factor, place)};
  };
  m.stance_width = read.estimate(front, "stance_width_cm", kCentimetres, path);
  m.toe_out = sides("toe_out_deg", kDegrees);
  m.grip_width = read.estimate(front, "grip_width_cm", kCentimetres, path);
  m.knee_line_bottom = sides("knee_line_bottom_cm", kCentimetres);
  m.hip_shift_bottom = read.estimate(front, "hip_shift_bottom_cm", kCentimetres, path);
  m.bar_tilt_bottom = read.estimate(front, "bar_tilt_bottom_deg", kDegrees, path);
}

}  // namespace

view::Assessment StoredAssessment::view() const {
  view::Assessment out = facts;
  if (side) out.side = &*side;
  return out;
}

Result<StoredAssessment> read_assessment_json(std::string_view text, std::string_view file_name) {
  JsonLimits limits;
  limits.bytes = std::size_t{16} << 20;
  auto root = parse_json(text, limits);
  if (!root) return fail(std::move(root.error().with_file(file_name)));
  FaultList faults;
  const JsonValue* schema = root->find("schema");
  if (schema == nullptr || schema->text != "lintel-assessment-1") {
    faults.add(*root, "schema", "this is not an assessment (schema \"lintel-assessment-1\")",
               "give the assessment.json of a results folder");
  }
  StoredAssessment stored;
  if (faults.empty()) {
    Reader read(faults);
    read_facts(read, *root, stored.facts);
    // A side view has a camera check, whatever it found.
    const JsonValue* repetitions = read.find(&*root, "repetitions", JsonKind::Array, "");
    if (read.find(&*root, "camera", JsonKind::Object, "") != nullptr ||
        (repetitions != nullptr && !repetitions->items.empty())) {
      read_side(read, *root, stored.side.emplace());
    }
    if (const JsonValue* front = read.find(&*root, "front", JsonKind::Object, "")) {
      read_front(read, front, stored.front_view.emplace());
    }
  }
  if (!faults.empty()) return fail(std::move(sorted_faults(faults, file_name).front()));
  return stored;
}

}  // namespace lintel::formats
