// Landmarks by joint and side, and points of the picture turned into the sagittal frame.
#pragma once

#include <cstdint>
#include <optional>

#include <Eigen/Core>

#include "kinematics/observation.h"

namespace lintel::kinematics {

// Landmarks that exist on the left and on the right.
enum class PairedLandmark : std::uint8_t {
  Ear,
  Shoulder,
  Elbow,
  Wrist,
  LittleKnuckle,
  IndexKnuckle,
  Hip,
  Knee,
  Ankle,
  Heel,
  Toe,
};

Landmark landmark_of(PairedLandmark joint, BodySide side);
constexpr BodySide opposite(BodySide side) {
  return side == BodySide::Left ? BodySide::Right : BodySide::Left;
}
// An unmirrored picture shows the right side of an athlete who faces image right (facing +1).
constexpr BodySide side_seen_when_facing(double facing) {
  return facing >= 0 ? BodySide::Right : BodySide::Left;
}

inline const LandmarkObservation& at(const BodyObservation& body, PairedLandmark joint,
                                     BodySide side) {
  return body[landmark_of(joint, side)];
}
// Half-way between left and right [px].
Eigen::Vector2d midpoint_px(const BodyObservation& body, PairedLandmark joint);
// One side [px].
Eigen::Vector2d point_px(const BodyObservation& body, PairedLandmark joint, BodySide side);

// Picture point (x right, y down) [px] to the sagittal frame of the athlete (X forward, Y up),
// same length unit, origin at the picture's origin. facing: +1 faces image right, -1 image left.
// Roll [rad], clockwise in the picture, is taken out about the picture's origin.
template <typename T>
Eigen::Matrix<T, 2, 1> sagittal_from_picture(const Eigen::Matrix<T, 2, 1>& p_px, double facing,
                                             double roll = 0.0);

// The head is below the feet in most frames with a body.
bool is_upside_down(const ClipObservation& clip);

}  // namespace lintel::kinematics

#include <cmath>
namespace lintel::kinematics {
template <typename T>
Eigen::Matrix<T, 2, 1> sagittal_from_picture(const Eigen::Matrix<T, 2, 1>& p_px, double facing,
                                             double roll) {
  const double c = std::cos(roll), s = std::sin(roll);
  const T x = T(c) * p_px.x() + T(s) * p_px.y();  // turned back counter-clockwise
  const T y = T(c) * p_px.y() - T(s) * p_px.x();
  return Eigen::Matrix<T, 2, 1>(T(facing) * x, -y);
}
}  // namespace lintel::kinematics
