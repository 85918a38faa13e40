// Landmarks in space, from motion capture, as a camera far away at the athlete's right sees them.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include <Eigen/Core>

#include "base/result.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

// One frame: positions in the laboratory's axes [m]; nothing = not seen.
using MarkerBody = std::array<std::optional<Eigen::Vector3d>, kLandmarkCount>;

struct MarkerClip {
  double frame_rate = 0;                          // [frames/s]
  Eigen::Vector3d up = Eigen::Vector3d::UnitZ();  // in the laboratory's axes
  std::vector<MarkerBody> frames;
};

inline constexpr double kMarkerViewPixelsPerMetre = 1000.0;

// Forward = the mean line from the right to the left hip over the clip, made level, times up; the
// picture's x runs forward, its y down, 1 px is 1 mm, no perspective. Every landmark that was seen
// has confidence 1. Errors: Invalid when no frame has both hips, or they lie above one another;
// Limit when the clip needs a picture wider or higher than 30 m.
Result<ClipObservation> side_view(const MarkerClip& clip);

}  // namespace lintel::kinematics
