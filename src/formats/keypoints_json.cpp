#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "formats/csv.h"
#include "formats/keypoints.h"
#include "formats/located_json.h"

namespace lintel::formats {
namespace {

using kinematics::ClipObservation;
using kinematics::FrameObservation;
using kinematics::Landmark;
using kinematics::LandmarkObservation;

constexpr const char* kSchema = "lintel-keypoints-1";
constexpr std::size_t kNumbers = std::size_t{3} * kCocoCount;

// COCO says left_eye where the landmark network has an inner, a middle and an outer one.
const std::array<std::string, kCocoCount>& coco_names() {
  static const std::array<std::string, kCocoCount> names = [] {
    std::array<std::string, kCocoCount> list;
    for (std::size_t i = 0; i < list.size(); ++i) {
      list[i] = std::string(kinematics::landmark_name(coco_order()[i]));
    }
    return list;
  }();
  return names;
}

class Reader {
 public:
  explicit Reader(FaultList& faults) : faults_(faults) {}

  ClipObservation read(const JsonValue& root) {
    ClipObservation clip;
    if (root.kind != JsonKind::Object) {
      faults_.add(root, "", "the file must be an object");
      return clip;
    }
    check_keys(root, "",
               {"schema", "width_px", "height_px", "frame_rate_hz", "keypoint_names", "frames"});
    const JsonValue* schema = member(root, "", "schema", JsonKind::String);
    if (schema != nullptr && schema->text != kSchema) {
      faults_.add(*schema, "schema", "is \"" + schema->text + "\"",
                  std::string("write \"") + kSchema + "\"");
    }
    clip.width_px = static_cast<int>(number(root, "", "width_px", 1, 32768, Whole::Yes));
    clip.height_px = static_cast<int>(number(root, "", "height_px", 1, 32768, Whole::Yes));
    clip.nominal_rate = number(root, "", "frame_rate_hz", 0, 10000, Whole::No);
    check_names(root);
    const JsonValue* frames = member(root, "", "frames", JsonKind::Array);
    if (frames == nullptr) return clip;
    for (std::size_t i = 0; i < frames->items.size() && !faults_.full(); ++i) {
      read_frame(frames->items[i], "frames[" + std::to_string(i) + "].", clip);
    }
    return clip;
  }

 private:
  enum class Whole : std::uint8_t { Yes, No };

  void check_keys(const JsonValue& object, const std::string& path,
                  const std::vector<std::string>& known) {
    for (const auto& [key, value] : object.members) {
      if (std::find(known.begin(), known.end(), key) != known.end()) continue;
      const std::string_view nearest = nearest_word(key, known);
      faults_.add_key(
          value, path + key, "unknown key",
          nearest.empty() ? std::string() : "did you mean \"" + std::string(nearest) + "\"?");
    }
  }

  const JsonValue* member(const JsonValue& object, const std::string& path, const std::string& key,
                          JsonKind kind) {
    const JsonValue* value = object.find(key);
    if (value == nullptr) {
      faults_.add(object, path + key, "is missing");
      return nullptr;
    }
    if (value->kind == kind) return value;
    faults_.add(*value, path + key,
                "is " + std::string(json_kind_name(value->kind)) + ", but must be " +
                    std::string(json_kind_name(kind)));
    return nullptr;
  }

  double number(const JsonValue& object, const std::string& path, const std::string& key,
                double low, double high, Whole whole) {
    const JsonValue* value = member(object, path, key, JsonKind::Number);
    if (value == nullptr) return low;
    const bool is_whole = value->number == std::floor(value->number);
    if (value->number >= low && value->number <= high && (whole == Whole::No || is_whole)) {
      return value->number;
    }
    faults_.add(*value, path + key,
                "is " + csv_number(value->number, 9) + "; allowed are " +
                    (whole == Whole::Yes ? "whole numbers from " : "numbers from ") +
                    csv_number(low, 9) + " to " + csv_number(high, 9));
    return low;
  }

  void check_names(const JsonValue& root) {
    const JsonValue* names = member(root, "", "keypoint_names", JsonKind::Array);
    if (names == nullptr) return;
    if (names->items.size() != kCocoCount) {
      faults_.add(*names, "keypoint_names",
                  "has " + std::to_string(names->items.size()) + " names; must be the 17 of COCO");
      return;
    }
    for (std::size_t i = 0; i < names->items.size(); ++i) {
      const JsonValue& item = names->items[i];
      if (item.kind == JsonKind::String && item.text == coco_names()[i]) continue;
      faults_.add(item, "keypoint_names[" + std::to_string(i) + "]",
                  "must be \"" + coco_names()[i] + "\"");
    }
  }

  void read_frame(const JsonValue& value, const std::string& path, ClipObservation& clip) {
    if (value.kind != JsonKind::Object) {
      faults_.add(value, path, "must be an object");
      return;
    }
    check_keys(value, path, {"frame", "time_s", "keypoints"});
    FrameObservation frame;
    frame.index = static_cast<std::int64_t>(number(value, path, "frame", 0, 1e9, Whole::Yes));
    frame.time = number(value, path, "time_s", 0, 1e6, Whole::No);
    if (!clip.frames.empty() && frame.index <= clip.frames.back().index) {
      faults_.add(value, path + "frame", "does not rise from frame to frame");
    }
    if (!clip.frames.empty() && frame.time < clip.frames.back().time) {
      faults_.add(value, path + "time_s", "falls from frame to frame");
    }
    const JsonValue* points = member(value, path, "keypoints", JsonKind::Array);
    if (points != nullptr) read_points(*points, path + "keypoints", frame);
    clip.frames.push_back(std::move(frame));
  }

  void read_points(const JsonValue& points, const std::string& path, FrameObservation& frame) {
    if (points.items.size() != kNumbers) {
      faults_.add(points, path,
                  "has " + std::to_string(points.items.size()) + " numbers; must be 51");
      return;
    }
    kinematics::BodyObservation body;
    bool any = false;
    for (std::size_t i = 0; i < kNumbers; ++i) {
      const JsonValue& item = points.items[i];
      const bool is_confidence = i % 3 == 2;
      const double low = is_confidence ? 0 : -1e5;
      const double high = is_confidence ? 1 : 1e5;
      if (item.kind != JsonKind::Number || item.number < low || item.number > high) {
        faults_.add(item, path + "[" + std::to_string(i) + "]",
                    "must be a number from " + csv_number(low, 6) + " to " + csv_number(high, 6));
      }
    }
    for (std::size_t k = 0; k < kCocoCount; ++k) {
      LandmarkObservation& landmark = body[coco_order()[k]];
      const auto confidence = static_cast<float>(points.items[3 * k + 2].number);
      if (!(confidence > 0)) continue;
      landmark.position_px = {static_cast<float>(points.items[3 * k].number),
                              static_cast<float>(points.items[3 * k + 1].number)};
      landmark.regressed_px = landmark.position_px;
      landmark.confidence = confidence;
      landmark.visibility = confidence;
      any = true;
    }
    if (!any) return;
    body.presence = 1;
    frame.body = body;
  }

  FaultList& faults_;
};

double rounded(double value) {
  return std::round(value * 1000) / 1000;
}

}  // namespace

const std::array<Landmark, kCocoCount>& coco_order() {
  static constexpr std::array<Landmark, kCocoCount> kOrder = {
      Landmark::Nose,       Landmark::LeftEye,      Landmark::RightEye,      Landmark::LeftEar,
      Landmark::RightEar,   Landmark::LeftShoulder, Landmark::RightShoulder, Landmark::LeftElbow,
      Landmark::RightElbow, Landmark::LeftWrist,    Landmark::RightWrist,    Landmark::LeftHip,
      Landmark::RightHip,   Landmark::LeftKnee,     Landmark::RightKnee,     Landmark::LeftAnkle,
      Landmark::RightAnkle};
  return kOrder;
}

std::string write_keypoints_json(const ClipObservation& clip) {
  using Json = nlohmann::ordered_json;
  Json root;
  root["schema"] = kSchema;
  root["width_px"] = clip.width_px;
  root["height_px"] = clip.height_px;
  root["frame_rate_hz"] = std::isfinite(clip.nominal_rate) ? clip.nominal_rate : 0;
  root["keypoint_names"] = coco_names();
  Json frames = Json::array();
  for (const FrameObservation& frame : clip.frames) {
    Json points = Json::array();
    for (const Landmark name : coco_order()) {
      const LandmarkObservation* p = frame.body ? &(*frame.body)[name] : nullptr;
      const bool seen = p != nullptr && p->confidence > 0 && p->position_px.allFinite();
      points.push_back(seen ? rounded(p->position_px.x()) : 0);
      points.push_back(seen ? rounded(p->position_px.y()) : 0);
      points.push_back(seen ? std::round(p->confidence * 1e5) / 1e5 : 0);
    }
    frames.push_back({{"frame", frame.index}, {"time_s", frame.time}, {"keypoints", points}});
  }
  root["frames"] = std::move(frames);
  return root.dump() + "\n";
}

KeypointReading read_keypoints_json(std::string_view text, std::string_view file_name) {
  FaultList faults;
  KeypointReading reading;
  auto root = parse_json(text, {std::size_t{8} << 20, 8, 1'000'000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    ClipObservation clip = Reader(faults).read(*root);
    if (faults.empty()) reading.clip = std::move(clip);
  }
  reading.faults = faults.take();
  for (Error& error : reading.faults) error.with_file(file_name);
  return reading;
}

}  // namespace lintel::formats
