#include "demo/posture.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Geometry>

#include "base/units.h"

namespace lintel::demo {

namespace {

constexpr double kBallFraction = 0.74;      // ball of the foot along heel to toe tip, own estimate
constexpr double kHeelPointHeight = 0.035;  // the heel point above the sole's underside [m]
constexpr double kToePointHeight = 0.030;

double sign_of(int side) {
  return side == kRight ? 1.0 : -1.0;
}

// Foot, ankle and knee of one side; the foot turns about its ball where the sole meets the floor.
void place_lower_leg(const Lengths& l, const Setup& setup, const PostureInput& in, int side,
                     Limbs& limb) {
  const double z = sign_of(side);
  const Point along(std::cos(setup.toe_out), 0, z * std::sin(setup.toe_out));
  const Point outward(-std::sin(setup.toe_out) * 1.0, 0, z * std::cos(setup.toe_out));
  const Point up = Point::UnitY();
  const double ankle_z = 0.5 * setup.stance_width;
  const Point flat_ankle(0, l.ankle_height, z * ankle_z);
  const Point ground_ankle(0, 0, z * ankle_z);
  const Point pivot = ground_ankle + along * (kBallFraction * l.foot - l.heel_to_ankle);
  const double c = std::cos(in.foot_inclination);
  const double s = std::sin(in.foot_inclination);
  // Heel up: what lies behind the pivot rises.
  const auto turn = [&](const Point& p) -> Point {
    const Point d = p - pivot;
    const double a = d.dot(along);
    const double h = d.dot(up);
    const Point across = d - a * along - h * up;
    return pivot + (a * c + h * s) * along + (h * c - a * s) * up + across;
  };
  limb.ankle = turn(flat_ankle);
  limb.heel = turn(ground_ankle - along * l.heel_to_ankle + up * kHeelPointHeight);
  limb.ball = pivot;
  limb.toe = pivot + along * ((0.90 - kBallFraction) * l.foot) + up * kToePointHeight;
  limb.foot_direction = c * along - s * up;
  const Point tilt =
      std::sin(in.shank_tilt) * along +
      std::cos(in.shank_tilt) * (std::cos(in.knee_in) * up - std::sin(in.knee_in) * outward);
  limb.knee = limb.ankle + l.shank * tilt;
}

// Elbow of a two-link arm whose bend points towards `pole`.
Point bent_elbow(const Point& shoulder, const Point& wrist, double upper, double lower,
                 const Point& pole) {
  const Point d = wrist - shoulder;
  const double reach = d.norm();
  const Point axis = d / reach;
  const double along = (upper * upper - lower * lower + reach * reach) / (2 * reach);
  const double off = std::sqrt(std::max(0.0, upper * upper - along * along));
  Point side = pole - pole.dot(axis) * axis;
  side.normalize();
  return shoulder + along * axis + off * side;
}

Result<void> place_arms(const Lengths& l, const Setup& setup, const PostureInput& in, Skeleton& k) {
  const double grip_half = 0.5 * setup.grip_width + index_knuckle_offset(l);
  const double lean = in.trunk_inclination;
  const Point trunk_up(std::sin(lean), std::cos(lean), 0);
  const Point trunk_front(std::cos(lean), -std::sin(lean), 0);
  if (setup.arms == ArmPose::Overhead) {
    const double arm = l.upper_arm + l.forearm + l.grip;
    const double across = grip_half - 0.5 * l.inter_shoulder;
    const double ahead = in.bar_x - k.mid_shoulder.x();
    const double rise_squared = arm * arm - across * across - ahead * ahead;
    if (rise_squared <= 0.01) {
      return fail(ErrorCode::Invalid, "the bar is out of the arms' reach",
                  "narrow the grip or lean the trunk less");
    }
    k.bar = Point(in.bar_x, k.mid_shoulder.y() + std::sqrt(rise_squared), 0);
    for (int side : {kLeft, kRight}) {
      Limbs& limb = k.side[static_cast<std::size_t>(side)];
      limb.hand = k.bar + Point(0, 0, sign_of(side) * grip_half);
      const Point along = (limb.hand - limb.shoulder).normalized();
      limb.elbow = limb.shoulder + l.upper_arm * along;
      limb.wrist = limb.elbow + l.forearm * along;
    }
    return {};
  }
  if (setup.arms == ArmPose::Back) {
    // The bar lies on the upper back, a little below the shoulder joints.
    k.bar = k.mid_shoulder - 0.095 * trunk_front + 0.010 * trunk_up;
    for (int side : {kLeft, kRight}) {
      Limbs& limb = k.side[static_cast<std::size_t>(side)];
      limb.hand = k.bar + Point(0, 0, sign_of(side) * grip_half);
      const Point wrist_offset =
          (-0.80 * trunk_up - 0.35 * trunk_front + Point(0, 0, 0.45 * sign_of(side))).normalized();
      limb.wrist = limb.hand + l.grip * wrist_offset;
      limb.elbow = bent_elbow(limb.shoulder, limb.wrist, l.upper_arm, l.forearm,
                              -trunk_up - 0.35 * trunk_front + Point(0, 0, 0.35 * sign_of(side)));
    }
    return {};
  }
  for (int side : {kLeft, kRight}) {
    Limbs& limb = k.side[static_cast<std::size_t>(side)];
    const Point down = Point(-0.04, -1.0, 0.20 * sign_of(side)).normalized();
    const Point lower = Point(0.14, -1.0, 0.10 * sign_of(side)).normalized();
    limb.elbow = limb.shoulder + l.upper_arm * down;
    limb.wrist = limb.elbow + l.forearm * lower;
    limb.hand = limb.wrist + l.grip * lower;
  }
  k.bar = 0.5 * (k.side[kLeft].hand + k.side[kRight].hand);
  return {};
}

void place_head(const Lengths& l, const PostureInput& in, Skeleton& k) {
  // The gaze stays ahead: the neck takes up two thirds of the trunk's lean.
  k.head_inclination = 0.34 * in.trunk_inclination;
  const double c = std::cos(k.head_inclination);
  const double s = std::sin(k.head_inclination);
  const Point up(s, c, 0);
  const Point front(c, -s, 0);
  const double neck_lean = 0.75 * in.trunk_inclination + 0.15;
  const Point neck(std::sin(neck_lean), std::cos(neck_lean), 0);
  const double height = 0.130 * l.stature;
  const Point base = k.neck + (l.head_neck - height) * neck;
  k.head_top = base + height * up;
  k.head_center = base + 0.54 * height * up + 0.010 * front;
  k.nose = k.head_center + 0.45 * height * front - 0.06 * height * up;
  for (int side : {kLeft, kRight}) {
    k.ear[static_cast<std::size_t>(side)] = k.head_center +
                                            Point(0, 0, sign_of(side) * 0.335 * height) -
                                            0.035 * height * up - 0.05 * height * front;
  }
}

Point center_of_mass(const Lifter& lifter, const Setup& setup, const Skeleton& k) {
  const MassTable& m = mass_table(lifter.sex);
  const auto between = [](const Point& a, const Point& b, double f) -> Point {
    return a + f * (b - a);
  };
  Point sum = Point::Zero();
  double total = 0;
  const auto add = [&](double mass, const Point& p) {
    sum += mass * p;
    total += mass;
  };
  add(m.head.mass, between(k.neck, k.head_top, m.head.center));
  add(m.trunk.mass, between(k.mid_shoulder, k.mid_hip, m.trunk.center));
  for (const Limbs& limb : k.side) {
    add(m.upper_arm.mass, between(limb.shoulder, limb.elbow, m.upper_arm.center));
    add(m.forearm.mass, between(limb.elbow, limb.wrist, m.forearm.center));
    add(m.hand.mass, between(limb.wrist, limb.hand, m.hand.center));
    add(m.thigh.mass, between(limb.hip, limb.knee, m.thigh.center));
    add(m.shank.mass, between(limb.knee, limb.ankle, m.shank.center));
    add(m.foot.mass, between(limb.heel, limb.toe, m.foot.center));
  }
  add(setup.bar_mass / lifter.mass, k.bar);
  return sum / total;
}

double inclination(const Point& from, const Point& to) {
  return std::atan2(to.x() - from.x(), to.y() - from.y());
}

}  // namespace

double index_knuckle_offset(const Lengths& l) {
  return 0.030 * l.stature / 1.75;
}

double trunk_length(const Lengths& l, const Setup& setup) {
  return l.trunk + (setup.arms == ArmPose::Overhead ? l.shoulder_raise : 0.0);
}

double mid_foot_x(const Lengths& l, const Setup& setup) {
  return std::cos(setup.toe_out) * (0.5 * l.foot - l.heel_to_ankle);
}

Result<Skeleton> build_skeleton(const Lifter& lifter, const Setup& setup, const PostureInput& in) {
  const Lengths& l = lifter.lengths;
  Skeleton k;
  k.trunk_inclination = in.trunk_inclination;
  k.mid_foot = Point(mid_foot_x(l, setup), 0, 0);
  for (int side : {kLeft, kRight}) {
    Limbs& limb = k.side[static_cast<std::size_t>(side)];
    place_lower_leg(l, setup, in, side, limb);
    const double hip_z = sign_of(side) * 0.5 * l.inter_hip;
    const double across = hip_z - limb.knee.z();
    const double sagittal_squared = l.thigh * l.thigh - across * across;
    if (sagittal_squared <= 0) {
      return fail(ErrorCode::Invalid, "the thigh is too short for this stance",
                  "narrow the stance or turn the toes out less");
    }
    const double sagittal = std::sqrt(sagittal_squared);
    limb.hip = Point(limb.knee.x() - sagittal * std::sin(in.thigh_inclination),
                     limb.knee.y() + sagittal * std::cos(in.thigh_inclination), hip_z);
  }
  k.mid_hip = 0.5 * (k.side[kLeft].hip + k.side[kRight].hip);
  const Point along(std::sin(in.trunk_inclination), std::cos(in.trunk_inclination), 0);
  k.mid_shoulder = k.mid_hip + trunk_length(l, setup) * along;
  k.neck = k.mid_hip + l.trunk * along;  // the neck stays when the shoulders rise
  for (int side : {kLeft, kRight}) {
    k.side[static_cast<std::size_t>(side)].shoulder =
        k.mid_shoulder + Point(0, 0, sign_of(side) * 0.5 * l.inter_shoulder);
  }
  LINTEL_TRY_VOID(place_arms(l, setup, in, k));
  place_head(l, in, k);
  k.center_of_mass = center_of_mass(lifter, setup, k);
  return k;
}

Result<Skeleton> build_balanced(const Lifter& lifter, const Setup& setup, PostureInput in,
                                double target_x, Balance by) {
  double& free = by == Balance::ByTrunk ? in.trunk_inclination : in.thigh_inclination;
  // Leaning the trunk moves the centre of mass forward, opening the thigh backward moves it back.
  const double direction = by == Balance::ByTrunk ? 1.0 : -1.0;
  double low = (by == Balance::ByTrunk ? -15.0 : -15.0) * kRadiansPerDegree;
  double high = (by == Balance::ByTrunk ? 80.0 : 75.0) * kRadiansPerDegree;
  const auto excess = [&](double value) -> Result<double> {
    free = value;
    const Skeleton k = LINTEL_TRY(build_skeleton(lifter, setup, in));
    return direction * (k.center_of_mass.x() - target_x);
  };
  // The reach of the arms may end the range early.
  while (high > low && !excess(high)) high -= 1.0 * kRadiansPerDegree;
  while (high > low && !excess(low)) low += 1.0 * kRadiansPerDegree;
  if (LINTEL_TRY(excess(low)) > 0 || LINTEL_TRY(excess(high)) < 0) {
    return fail(ErrorCode::Invalid, "no posture in reach balances over the feet",
                "tilt the shank more or squat less deep");
  }
  for (int i = 0; i < 60; ++i) {
    const double middle = 0.5 * (low + high);
    (LINTEL_TRY(excess(middle)) < 0 ? low : high) = middle;
  }
  free = 0.5 * (low + high);
  return build_skeleton(lifter, setup, in);
}

SagittalAngles sagittal_angles(const Skeleton& k) {
  const auto mid = [&](Point Limbs::*member) -> Point {
    return 0.5 * (k.side[kLeft].*member + k.side[kRight].*member);
  };
  SagittalAngles a;
  a.trunk = inclination(k.mid_hip, k.mid_shoulder);
  a.thigh = -inclination(mid(&Limbs::knee), mid(&Limbs::hip));
  a.shank = inclination(mid(&Limbs::ankle), mid(&Limbs::knee));
  // Sole against the floor in the sagittal plane.
  const Point sole = mid(&Limbs::foot_direction);
  a.foot = std::atan2(-sole.y(), sole.x());
  a.arm = inclination(k.mid_shoulder, k.bar);
  a.ankle_dorsiflexion = a.shank - a.foot;
  a.knee_flexion = a.shank + a.thigh;
  a.hip_flexion = a.trunk + a.thigh;
  a.shoulder_elevation = std::numbers::pi + a.trunk - a.arm;
  // The elbow's own angle, in 3-D.
  const Limbs& limb = k.side[kRight];
  const Point upper = (limb.elbow - limb.shoulder).normalized();
  const Point lower = (limb.wrist - limb.elbow).normalized();
  a.elbow_flexion = std::atan2(upper.cross(lower).norm(), upper.dot(lower));
  return a;
}

}  // namespace lintel::demo
