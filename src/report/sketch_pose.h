// Where the joints of a drawn figure are, from the directions of its limbs.
#pragma once

#include <array>
#include <cmath>

#include "base/sketch.h"

namespace lintel::report {

inline SketchPoint operator+(SketchPoint a, SketchPoint b) {
  return {a.x + b.x, a.y + b.y};
}
inline SketchPoint operator-(SketchPoint a, SketchPoint b) {
  return {a.x - b.x, a.y - b.y};
}
inline SketchPoint operator*(SketchPoint a, double factor) {
  return {a.x * factor, a.y * factor};
}
inline double length_of(SketchPoint a) {
  return std::hypot(a.x, a.y);
}
// Unit vector of a direction from vertical-up, positive to the right [rad].
inline SketchPoint direction_of(double angle) {
  return {std::sin(angle), std::cos(angle)};
}
inline SketchPoint left_of(SketchPoint a) {  // turned by +90 degrees, counter-clockwise
  return {-a.y, a.x};
}

// All in the picture frame [m]. Joints that come singly stand in both sides.
struct SketchPose {
  std::array<std::array<SketchPoint, 2>, kSketchJointCount> joint{};
  SketchPoint mid_spine;  // where trunk and thorax meet
  SketchPoint trunk_direction;
  SketchPoint thorax_direction;
  SketchPoint head_direction;
  std::array<SketchPoint, 2> foot_direction;
  std::array<SketchPoint, 2> foot_up;  // from the sole to the instep
  std::array<SketchPoint, 2> hand_direction;

  const SketchPoint& at(SketchJoint j, std::size_t side = 0) const {
    return joint[static_cast<std::size_t>(j)][side];
  }
};

SketchPose compute_pose(const SketchFigure& figure, SketchView view);

// The place in the picture; a joint is that of the panel's first figure, the origin without one.
SketchPoint resolve(const SketchPlace& place, const SketchPose* pose);

}  // namespace lintel::report
