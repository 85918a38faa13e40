#include "report/sketch_pose.h"

#include <numbers>

namespace lintel::report {
namespace {

using L = SketchLengths;
constexpr double kPi = std::numbers::pi;
constexpr double kFrontFoot = 0.08;   // [m] from the ankle to the toes, seen from the front
constexpr double kFrontToeOut = 0.3;  // [rad]

class PoseBuilder {
 public:
  PoseBuilder(const SketchFigure& figure, SketchView view) : f_(figure), view_(view) {}

  SketchPose build() {
    spine();
    for (std::size_t side = 0; side < 2; ++side) {
      arm(side);
      leg(side);
      foot(side);
    }
    const SketchPoint shift = f_.at - pose_.at(f_.anchor, static_cast<std::size_t>(f_.anchor_side));
    for (auto& sides : pose_.joint) {
      for (SketchPoint& p : sides) p = p + shift;
    }
    pose_.mid_spine = pose_.mid_spine + shift;
    return pose_;
  }

 private:
  SketchPoint& joint(SketchJoint j, std::size_t side) {
    return pose_.joint[static_cast<std::size_t>(j)][side];
  }
  void both(SketchJoint j, SketchPoint p) {
    joint(j, 0) = p;
    joint(j, 1) = p;
  }
  bool is_side() const { return view_ == SketchView::Side; }

  void spine() {
    const double thorax = f_.thorax.value_or(f_.trunk);
    pose_.trunk_direction = direction_of(f_.trunk);
    pose_.thorax_direction = direction_of(thorax);
    pose_.head_direction = direction_of(f_.head.value_or(thorax));
    const double half = 0.5 * L::kTrunk * f_.trunk_seen;
    both(SketchJoint::Pelvis, {});
    pose_.mid_spine = pose_.trunk_direction * half;
    const SketchPoint neck = pose_.mid_spine + pose_.thorax_direction * half;
    both(SketchJoint::Neck, neck);
    both(SketchJoint::Head, neck + pose_.head_direction * (0.6 * L::kHead * f_.head_seen));
    both(SketchJoint::Crown, neck + pose_.head_direction * (L::kHead * f_.head_seen));
    const SketchPoint shoulders =
        neck - pose_.thorax_direction * (L::kShoulderBelowNeck * f_.trunk_seen);
    const SketchPoint shoulder_line = direction_of(f_.shoulder_line.value_or(thorax + kPi / 2));
    const SketchPoint hip_line = direction_of(f_.hip_line.value_or(f_.trunk + kPi / 2));
    for (std::size_t side = 0; side < 2; ++side) {
      const double sign = is_side() ? 0 : side == 0 ? -1 : 1;
      joint(SketchJoint::Shoulder, side) =
          shoulders + shoulder_line * (sign * L::kShoulderHalfWidth * f_.shoulders_seen);
      joint(SketchJoint::Hip, side) = hip_line * (sign * L::kHipHalfWidth * f_.hips_seen);
    }
  }

  void arm(std::size_t side) {
    const SketchPoint elbow =
        joint(SketchJoint::Shoulder, side) +
        direction_of(f_.upper_arm[side]) * (L::kUpperArm * f_.upper_arm_seen[side]);
    const SketchPoint wrist =
        elbow + direction_of(f_.forearm[side]) * (L::kForearm * f_.forearm_seen[side]);
    pose_.hand_direction[side] = direction_of(f_.hand[side].value_or(f_.forearm[side]));
    joint(SketchJoint::Elbow, side) = elbow;
    joint(SketchJoint::Wrist, side) = wrist;
    joint(SketchJoint::Hand, side) = wrist + pose_.hand_direction[side] * L::kHand;
  }

  void leg(std::size_t side) {
    const SketchPoint knee = joint(SketchJoint::Hip, side) +
                             direction_of(f_.thigh[side]) * (L::kThigh * f_.thigh_seen[side]);
    joint(SketchJoint::Knee, side) = knee;
    joint(SketchJoint::Ankle, side) =
        knee + direction_of(f_.shank[side]) * (L::kShank * f_.shank_seen[side]);
  }

  void foot(std::size_t side) {
    const SketchPoint ankle = joint(SketchJoint::Ankle, side);
    if (is_side()) {
      const double angle = f_.foot[side].value_or(f_.facing * kPi / 2);
      const SketchPoint along = direction_of(angle);
      const SketchPoint up = left_of(along) * f_.facing;
      const SketchPoint heel =
          ankle - up * L::kAnkleHeight - along * (L::kHeelToAnkle * f_.foot_seen[side]);
      pose_.foot_direction[side] = along;
      pose_.foot_up[side] = up;
      joint(SketchJoint::Heel, side) = heel;
      joint(SketchJoint::Toe, side) = heel + along * (L::kFoot * f_.foot_seen[side]);
      return;
    }
    // Towards the viewer: the foot hangs from the ankle, toes a little out.
    const double out = side == 0 ? kFrontToeOut : -kFrontToeOut;
    const double angle = f_.foot[side].value_or(f_.shank[side] + out);
    const SketchPoint along = direction_of(angle);
    pose_.foot_direction[side] = along;
    pose_.foot_up[side] = left_of(along);
    joint(SketchJoint::Heel, side) = ankle - along * 0.02;
    joint(SketchJoint::Toe, side) = ankle + along * (kFrontFoot * f_.foot_seen[side]);
  }

  const SketchFigure& f_;
  SketchView view_;
  SketchPose pose_;
};

}  // namespace

SketchPose compute_pose(const SketchFigure& figure, SketchView view) {
  return PoseBuilder(figure, view).build();
}

SketchPoint resolve(const SketchPlace& place, const SketchPose* pose) {
  if (!place.joint) return place.at;
  if (pose == nullptr) return {};
  return pose->at(*place.joint, static_cast<std::size_t>(place.side)) + place.at;
}

}  // namespace lintel::report
