// Which markers of a motion-capture file make which landmark: data/exchange/marker_sets.json and
// files of the same form, "lintel-marker-sets-1".
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "formats/c3d.h"
#include "kinematics/marker_view.h"

namespace lintel::formats {

// Hip centres from the spines of the pelvis, as shares of the breadth between the front ones: from
// the front spine of that side inwards, down and back.
struct HipFromPelvis {
  std::string left_front, right_front, left_back, right_back;
  double medial = 0, distal = 0, posterior = 0;
  std::string source;
};

struct MarkerSet {
  std::string id, name, source;
  // Labels of each landmark; the landmark is their mean, and not seen when one of them is not.
  std::array<std::vector<std::string>, kinematics::kLandmarkCount> markers;
  std::optional<HipFromPelvis> hip;
};

struct MarkerSetReading {
  std::vector<MarkerSet> sets;  // only when there is no fault
  std::vector<Error> faults;    // all (at most 100), with field, line and column
};
// Strict: unknown landmarks and keys name the nearest known one. Limits: 256 KiB. Never throws.
MarkerSetReading read_marker_sets_json(std::string_view text, std::string_view file_name);

// Read once, at first use; safe from any thread.
const std::vector<MarkerSet>& built_in_marker_sets();

struct MarkerMatch {
  int landmarks = 0;                 // that have all their markers in the file
  std::vector<std::string> missing;  // of shoulders, hips, knees, ankles: those without
};
MarkerMatch match_markers(const C3dMotion& motion, const MarkerSet& set);
// The set with most landmarks; the first of equals. `sets` not empty.
const MarkerSet& best_marker_set(const C3dMotion& motion, const std::vector<MarkerSet>& sets);

// Labels may carry the person's name before a colon ("P1:LKNE"). Up is POINT:Y_SCREEN, +Z where
// the file does not say. Errors: Invalid when a shoulder, hip, knee or ankle has no marker.
Result<kinematics::MarkerClip> landmarks_of(const C3dMotion& motion, const MarkerSet& set);

}  // namespace lintel::formats
