#include "base/sketch.h"

namespace lintel {

std::string_view sketch_joint_name(SketchJoint joint) {
  static constexpr std::array<std::string_view, kSketchJointCount> kNames = {
      "crown",  "head", "neck", "shoulder", "elbow", "wrist", "hand",
      "pelvis", "hip",  "knee", "ankle",    "heel",  "toe"};
  return kNames[static_cast<std::size_t>(joint)];
}

std::string_view sketch_prop_name(SketchPropKind kind) {
  static constexpr std::array<std::string_view, kSketchPropCount> kNames = {
      "floor", "wall", "box", "bench", "mat",  "chair",    "scale",      "ball", "roller",
      "wedge", "pipe", "bar", "tape",  "band", "dumbbell", "kettlebell", "plate"};
  return kNames[static_cast<std::size_t>(kind)];
}

std::string_view sketch_mark_name(SketchMarkKind kind) {
  static constexpr std::array<std::string_view, kSketchMarkCount> kNames = {
      "angle", "distance", "arrow", "line", "text", "turn", "pad"};
  return kNames[static_cast<std::size_t>(kind)];
}

}  // namespace lintel
