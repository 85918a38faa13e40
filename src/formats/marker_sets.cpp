#include "formats/marker_sets.h"

#include <algorithm>
#include <initializer_list>

#include <Eigen/Geometry>

#include "formats/field_reader.h"
#include "formats/located_json.h"

namespace lintel::embedded {
extern const std::string_view marker_sets_json;
}

namespace lintel::formats {
namespace {

using kinematics::kLandmarkCount;
using kinematics::Landmark;

constexpr std::size_t kLongestLabel = 64;
constexpr std::array<Landmark, 8> kNeeded = {
    Landmark::LeftShoulder, Landmark::RightShoulder, Landmark::LeftHip,   Landmark::RightHip,
    Landmark::LeftKnee,     Landmark::RightKnee,     Landmark::LeftAnkle, Landmark::RightAnkle};

std::vector<std::string> landmark_words() {
  std::vector<std::string> words;
  words.reserve(kLandmarkCount);
  for (int i = 0; i < kLandmarkCount; ++i) {
    words.emplace_back(kinematics::landmark_name(static_cast<Landmark>(i)));
  }
  return words;
}

HipFromPelvis read_hip(FieldReader& read, const JsonValue& hip, const std::string& path) {
  read.check_keys(hip, path,
                  {"left_front", "right_front", "left_back", "right_back", "medial", "distal",
                   "posterior", "source"});
  HipFromPelvis out;
  const auto label = [&](const char* key) {
    return read.text(hip, path, key, Presence::Required, kLongestLabel);
  };
  const auto share = [&](const char* key) {
    return read.number(hip, path, key, Presence::Required, {0.0, 1.0}).value_or(0.0);
  };
  out.left_front = label("left_front");
  out.right_front = label("right_front");
  out.left_back = label("left_back");
  out.right_back = label("right_back");
  out.medial = share("medial");
  out.distal = share("distal");
  out.posterior = share("posterior");
  out.source = read.text(hip, path, "source", Presence::Required, 400);
  return out;
}

MarkerSet read_set(FieldReader& read, const JsonValue& value, const std::string& field) {
  MarkerSet set;
  if (!read.is_kind(value, field, JsonKind::Object)) return set;
  const std::string path = field + ".";
  read.check_keys(value, path, {"id", "name", "source", "landmarks", "hip_from_pelvis"});
  set.id = read.text(value, path, "id", Presence::Required, 60);
  set.name = read.text(value, path, "name", Presence::Required, 200);
  set.source = read.text(value, path, "source", Presence::Required, 400);
  const JsonValue* landmarks =
      read.member(value, path, "landmarks", JsonKind::Object, Presence::Required);
  if (landmarks != nullptr) {
    const std::vector<std::string> words = landmark_words();
    read.check_keys(*landmarks, path + "landmarks.", words);
    for (std::size_t i = 0; i < words.size(); ++i) {
      if (landmarks->find(words[i]) == nullptr) continue;
      set.markers[i] = read.texts(*landmarks, path + "landmarks.", words[i], 1, kLongestLabel);
    }
  }
  const JsonValue* hip =
      read.member(value, path, "hip_from_pelvis", JsonKind::Object, Presence::Optional);
  if (hip != nullptr) set.hip = read_hip(read, *hip, path + "hip_from_pelvis.");
  return set;
}

// "P1:LKNE" is the marker LKNE.
std::string_view bare(std::string_view label) {
  const std::size_t colon = label.rfind(':');
  return colon == std::string_view::npos ? label : label.substr(colon + 1);
}

using Columns = std::vector<std::size_t>;

// Where the markers stand in the file; nothing when one of them is not there.
std::optional<Columns> columns_of(const C3dMotion& motion, const std::vector<std::string>& names) {
  Columns columns;
  for (const std::string& name : names) {
    const auto found = std::find_if(motion.labels.begin(), motion.labels.end(),
                                    [&](const std::string& label) { return bare(label) == name; });
    if (found == motion.labels.end()) return std::nullopt;
    columns.push_back(static_cast<std::size_t>(found - motion.labels.begin()));
  }
  if (columns.empty()) return std::nullopt;
  return columns;
}

std::optional<Columns> pelvis_of(const C3dMotion& motion, const MarkerSet& set) {
  if (!set.hip) return std::nullopt;
  return columns_of(
      motion, {set.hip->left_front, set.hip->right_front, set.hip->left_back, set.hip->right_back});
}

std::optional<Eigen::Vector3d> position(const C3dSample& sample) {
  if (!sample.seen()) return std::nullopt;
  return Eigen::Vector3d(sample.position[0], sample.position[1], sample.position[2]);
}

std::optional<Eigen::Vector3d> mean_of(const C3dMotion& motion, std::size_t frame,
                                       const Columns& columns) {
  Eigen::Vector3d sum = Eigen::Vector3d::Zero();
  for (const std::size_t column : columns) {
    const auto p = position(motion.at(frame, column));
    if (!p) return std::nullopt;
    sum += *p;
  }
  return Eigen::Vector3d(sum / static_cast<double>(columns.size()));
}

// Axes of the pelvis: x to the right along the front spines, z up off their plane with the back
// ones, y forward.
void add_hips(const C3dMotion& motion, std::size_t frame, const Columns& pelvis,
              const HipFromPelvis& hip, kinematics::MarkerBody& body) {
  const auto left = position(motion.at(frame, pelvis[0]));
  const auto right = position(motion.at(frame, pelvis[1]));
  const auto back = mean_of(motion, frame, {pelvis[2], pelvis[3]});
  if (!left || !right || !back) return;
  const double breadth = (*right - *left).norm();
  const Eigen::Vector3d x = (*right - *left).normalized();
  const Eigen::Vector3d z = x.cross(0.5 * (*left + *right) - *back).normalized();
  const Eigen::Vector3d y = z.cross(x);
  if (!x.allFinite() || !z.allFinite()) return;
  const Eigen::Vector3d down_and_back = -breadth * (hip.distal * z + hip.posterior * y);
  body[static_cast<std::size_t>(Landmark::LeftHip)] =
      *left + breadth * hip.medial * x + down_and_back;
  body[static_cast<std::size_t>(Landmark::RightHip)] =
      *right - breadth * hip.medial * x + down_and_back;
}

Eigen::Vector3d up_of(const C3dMotion& motion) {
  const std::string& axis = motion.y_screen;
  if (axis.size() != 2 || (axis[0] != '+' && axis[0] != '-')) return Eigen::Vector3d::UnitZ();
  const double sign = axis[0] == '-' ? -1.0 : 1.0;
  if (axis[1] == 'X' || axis[1] == 'x') return sign * Eigen::Vector3d::UnitX();
  if (axis[1] == 'Y' || axis[1] == 'y') return sign * Eigen::Vector3d::UnitY();
  return sign * Eigen::Vector3d::UnitZ();
}

}  // namespace

MarkerSetReading read_marker_sets_json(std::string_view text, std::string_view file_name) {
  MarkerSetReading reading;
  FaultList faults;
  FieldReader read(faults);
  auto root = parse_json(text, {std::size_t{256} << 10, 8, 20'000});
  if (!root) {
    faults.add(std::move(root).error());
  } else if (read.is_kind(*root, "the file", JsonKind::Object)) {
    read.check_schema(*root, "lintel-marker-sets-1");
    read.check_keys(*root, "", {"schema", "sets"});
    const JsonValue* sets = read.member(*root, "", "sets", JsonKind::Array, Presence::Required);
    if (sets != nullptr && sets->items.empty()) faults.add(*sets, "sets", "is empty");
    for (std::size_t i = 0; sets != nullptr && i < sets->items.size(); ++i) {
      reading.sets.push_back(read_set(read, sets->items[i], "sets[" + std::to_string(i) + "]"));
    }
  }
  reading.faults = sorted_faults(faults, file_name);
  if (!reading.faults.empty()) reading.sets.clear();
  return reading;
}

const std::vector<MarkerSet>& built_in_marker_sets() {
  static const std::vector<MarkerSet> kSets = [] {
    MarkerSetReading reading =
        read_marker_sets_json(embedded::marker_sets_json, "data/exchange/marker_sets.json");
    LINTEL_CHECK(reading.faults.empty() && !reading.sets.empty());
    return std::move(reading.sets);
  }();
  return kSets;
}

MarkerMatch match_markers(const C3dMotion& motion, const MarkerSet& set) {
  MarkerMatch match;
  const bool pelvis = pelvis_of(motion, set).has_value();
  for (std::size_t i = 0; i < kLandmarkCount; ++i) {
    const auto landmark = static_cast<Landmark>(i);
    const bool hip = landmark == Landmark::LeftHip || landmark == Landmark::RightHip;
    if ((hip && pelvis) || columns_of(motion, set.markers[i])) {
      ++match.landmarks;
    } else if (std::find(kNeeded.begin(), kNeeded.end(), landmark) != kNeeded.end()) {
      match.missing.emplace_back(kinematics::landmark_name(landmark));
    }
  }
  return match;
}

const MarkerSet& best_marker_set(const C3dMotion& motion, const std::vector<MarkerSet>& sets) {
  LINTEL_CHECK(!sets.empty());
  return *std::max_element(sets.begin(), sets.end(), [&](const MarkerSet& a, const MarkerSet& b) {
    return match_markers(motion, a).landmarks < match_markers(motion, b).landmarks;
  });
}

Result<kinematics::MarkerClip> landmarks_of(const C3dMotion& motion, const MarkerSet& set) {
  const MarkerMatch match = match_markers(motion, set);
  if (!match.missing.empty()) {
    Error error{
        ErrorCode::Invalid,
        "no marker of \"" + set.id + "\" for " + joined_words(match.missing),
        {},
        "the file has " + joined_words(motion.labels) + "; name them in a file of marker sets",
        {}};
    error.place.field = "POINT:LABELS";
    return fail(std::move(error));
  }
  std::array<std::optional<Columns>, kLandmarkCount> columns;
  for (std::size_t i = 0; i < kLandmarkCount; ++i) columns[i] = columns_of(motion, set.markers[i]);
  const std::optional<Columns> pelvis = pelvis_of(motion, set);
  kinematics::MarkerClip clip;
  clip.frame_rate = motion.frame_rate;
  clip.up = up_of(motion);
  clip.frames.resize(motion.frame_count);
  for (std::size_t frame = 0; frame < motion.frame_count; ++frame) {
    kinematics::MarkerBody& body = clip.frames[frame];
    for (std::size_t i = 0; i < kLandmarkCount; ++i) {
      if (columns[i]) body[i] = mean_of(motion, frame, *columns[i]);
    }
    if (pelvis) add_hips(motion, frame, *pelvis, *set.hip, body);
  }
  return clip;
}

}  // namespace lintel::formats
