// A side view of an athlete at the bottom, as lines to draw. Metres: x forward from the middle of
// the foot, y up from the floor.
#pragma once

#include <array>
#include <string_view>
#include <vector>

namespace lintel::view {

struct FigurePoint {
  double x = 0.0;
  double y = 0.0;
};

enum class FigureJoint {
  Heel,
  Toe,
  Ankle,
  Knee,
  Hip,
  Lumbar,  // hinge of pelvis and low back
  Thorax,  // hinge of low back and thorax
  Shoulder,
  Elbow,
  Wrist,
  Hand,
  Bar,
  Head,    // middle of it
  Vertex,  // top of it
};
inline constexpr int kFigureJointCount = 14;
constexpr std::string_view figure_joint_name(FigureJoint joint) {
  constexpr std::array<std::string_view, kFigureJointCount> kNames = {
      "heel",     "toe",   "ankle", "knee", "hip", "lumbar", "thorax",
      "shoulder", "elbow", "wrist", "hand", "bar", "head",   "vertex"};
  return kNames[static_cast<std::size_t>(joint)];
}

struct FigureSegment {
  std::string_view name;  // "foot", "shank", "thigh", "pelvis", "lumbar", "trunk", ...
  std::vector<FigurePoint> points;
};

struct Figure {
  double trunk_inclination = 0.0;   // [rad]
  double shank_inclination = 0.0;   // [rad]
  double shoulder_elevation = 0.0;  // [rad]
  double depth = 0.0;               // hip below knee [m]
  std::array<FigurePoint, kFigureJointCount> joints{};
  std::vector<FigureSegment> segments;  // from the floor up
  double disc_radius = 0.0;             // [m], 0 = no disc

  const FigurePoint& at(FigureJoint joint) const { return joints[static_cast<std::size_t>(joint)]; }
};

}  // namespace lintel::view
