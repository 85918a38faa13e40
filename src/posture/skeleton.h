// The closed chain in 3-D, templated on the scalar: fixed foot, shank, thigh to a hip centre at
// half the inter-hip distance; pelvis, lumbar, thorax; straight arms to the bar. Right side; the
// left is its mirror. Equations: docs/model.md, "Skeleton".
#pragma once

#include <algorithm>
#include <array>
#include <cmath>

#include "body/body_segments.h"
#include "body/segments.h"
#include "posture/jet.h"
#include "posture/posture.h"

namespace lintel::posture {

// Everything of a model that may carry derivatives. [m, rad, kg]
template <typename S>
struct Inputs {
  std::array<S, body::kSegmentCount> lengths;
  std::array<S, kLeverCount> levers;
  std::array<S, kLimitCount> edges;

  const S& operator[](body::Segment s) const { return lengths[static_cast<std::size_t>(s)]; }
  const S& operator[](Lever l) const { return levers[static_cast<std::size_t>(l)]; }
};

// Numbers of data/mobility/limits.csv that the skeleton uses, read once.
struct SkeletonNumbers {
  double ball_lever_of_foot;
  double hand_half_breadth;
  double head_follows_thorax;
  double hip_above_surface;
  double back_behind, back_above, front_ahead, front_above;
};
const SkeletonNumbers& skeleton_numbers();

// Lengths and positions that are fixed in a solve.
template <typename S>
struct Skeleton {
  S shank, thigh, half_stance, half_hip;
  S cos_toe, sin_toe;
  S pitch;                  // of the foot, heel up
  S ankle_y;                // ankle centre above the floor; its x is 0
  S heel_u, ball_u, toe_u;  // along the foot's axis from the ankle, on the floor
  S mid_foot_u;
  S foot_center_u;  // centre of mass of the foot
  bool on_surface = false;
  S hip_height;                      // with a surface
  S pelvis, lumbar, thorax;          // lengths of the trunk's parts
  S arm;                             // shoulder to bar centre, elbow straight
  S sin_spread, cos_spread, spread;  // arm out of the sagittal plane
  S bar_normal, bar_along;           // bar from mid-shoulder in thorax axes (back, front)
  bool overhead = true;  // arms reach for the bar (also the free arms of BarPosition::None)
  double head_follows = 0.5;
};

template <typename S>
Skeleton<S> make_skeleton(const BodyParameters& body, const body::Setup& setup,
                          const Inputs<S>& in) {
  using body::Segment;
  using std::asin;
  using std::cos;
  using std::sin;
  using std::sqrt;
  const SkeletonNumbers& numbers = skeleton_numbers();
  Skeleton<S> k;
  k.shank = in[Segment::Shank];
  k.thigh = in[Segment::Thigh];
  k.half_stance = S(0.5) * in[Lever::StanceWidth];
  k.half_hip = S(0.5) * in[Segment::InterHip];
  k.cos_toe = cos(in[Lever::ToeOut]);
  k.sin_toe = sin(in[Lever::ToeOut]);
  // The foot turns about the ball on the wedge: lever from heel to ball.
  const S lever = S(numbers.ball_lever_of_foot) * in[Segment::Foot];
  const S sine = in[Lever::HeelElevation] / lever;
  k.pitch = asin(sine);
  const S cosine = sqrt(S(1.0) - sine * sine);
  const S ball_ahead = lever - in[Segment::HeelToAnkle];
  k.ankle_y = in[Segment::AnkleHeight] * cosine + ball_ahead * sine;
  k.ball_u = ball_ahead * cosine - in[Segment::AnkleHeight] * sine;
  k.heel_u = k.ball_u - lever * cosine;
  k.toe_u = k.ball_u + in[Segment::Foot] - lever;
  k.mid_foot_u = S(0.5) * (k.heel_u + k.toe_u);
  const double foot_center = body.parts[static_cast<std::size_t>(body::Part::Foot)].center_of_mass;
  // On the sole line from heel to toe at half the ankle's height, pitched with the rear foot.
  const S ahead_of_ankle = S(foot_center) * in[Segment::Foot] - in[Segment::HeelToAnkle];
  k.foot_center_u = ahead_of_ankle * cosine - S(0.5) * in[Segment::AnkleHeight] * sine;
  k.on_surface = setup.surface_height.has_value();
  k.hip_height = in[Lever::SurfaceHeight] + S(numbers.hip_above_surface);
  k.pelvis = S(body.trunk.pelvis_length) * in[Segment::Trunk];
  k.lumbar = S(body.trunk.lumbar_length) * in[Segment::Trunk];
  k.thorax = S(body.trunk.thorax_length) * in[Segment::Trunk];
  k.arm = in[Segment::UpperArm] + in[Segment::Forearm] + in[Segment::Grip];
  k.head_follows = numbers.head_follows_thorax;
  k.overhead = setup.bar_position == body::BarPosition::Overhead ||
               setup.bar_position == body::BarPosition::None;
  k.sin_spread = S(0.0);
  k.cos_spread = S(1.0);
  k.spread = S(0.0);
  k.bar_normal = S(0.0);
  k.bar_along = S(0.0);
  if (setup.bar_position == body::BarPosition::Overhead) {
    k.sin_spread = (S(0.5) * (in[Lever::GripWidth] - in[Segment::InterShoulder]) +
                    S(numbers.hand_half_breadth)) /
                   k.arm;
    k.cos_spread = sqrt(S(1.0) - k.sin_spread * k.sin_spread);
    k.spread = asin(k.sin_spread);
  } else if (setup.bar_position == body::BarPosition::Back) {
    k.bar_normal = S(-numbers.back_behind);
    k.bar_along = S(numbers.back_above);
  } else if (setup.bar_position == body::BarPosition::Front) {
    k.bar_normal = S(numbers.front_ahead);
    k.bar_along = S(numbers.front_above);
  }
  return k;
}

// The legs as functions of (ankle dorsiflexion, knee line, thigh drop).
template <typename S>
struct LowerChain {
  using J = Jet2<S, 3>;
  J knee_x, knee_y, knee_z, hip_x, hip_y;
  J knee_flexion, thigh_angle, hip_abduction, hip_external_rotation;
  J reach;  // (sagittal projection of the thigh / thigh)^2: must stay positive
};

// sqrt(u) for u above u0, and below it a smooth positive continuation that no feasible posture
// uses.
template <typename S>
Jet2<S, 3> guarded_sqrt(const Jet2<S, 3>& u, double u0) {
  if (value_of(u) > u0) return sqrt(u);
  using std::sqrt;
  const double w = std::max(value_of(u) / u0 - 1.0, -4.0);
  // log f = log(u0) / 2 + w / 2 - w^2 / 4 agrees with sqrt to second order at w = 0.
  const double value = std::sqrt(u0) * std::exp(0.5 * w - 0.25 * w * w);
  const double slope = value * (0.5 - 0.5 * w) / u0;
  const double bend = value * ((0.5 - 0.5 * w) * (0.5 - 0.5 * w) - 0.5) / (u0 * u0);
  return u.chain(S(value) + S(slope) * (u.v - S(value_of(u))), S(slope), S(bend));
}

inline constexpr double kLeastReach = 0.02;

template <typename S>
LowerChain<S> compute_lower_chain(const Skeleton<S>& k, const S& dorsiflexion, const S& knee_line,
                                  const S& thigh_drop) {
  using J = Jet2<S, 3>;
  LowerChain<S> c;
  const J sigma = J::variable(dorsiflexion + k.pitch, 0);
  const J line = J::variable(knee_line, 1);
  const J sin_sigma = sin(sigma), cos_sigma = cos(sigma);
  const J sin_line = sin(line), cos_line = cos(line);
  // Unit vector of the shank, ankle to knee: s_W = forward * u + side * v, u the foot's axis.
  const J forward = sin_sigma * cos_line;
  const J sx = k.cos_toe * forward - k.sin_toe * sin_line;
  const J sy = cos_sigma * cos_line;
  const J sz = k.sin_toe * forward + k.cos_toe * sin_line;
  c.knee_x = k.shank * sx;
  c.knee_y = J(k.ankle_y) + k.shank * sy;
  c.knee_z = J(k.half_stance) + k.shank * sz;
  // Thigh in units of its length, from hip to knee: (r, drop, out).
  const S inverse_thigh = S(1.0) / k.thigh;
  const J out = inverse_thigh * (c.knee_z - J(k.half_hip));
  const J drop =
      k.on_surface ? inverse_thigh * (c.knee_y - J(k.hip_height)) : J::variable(thigh_drop, 2);
  const J out_squared = out * out;
  const J sagittal_squared = J(S(1.0)) - out_squared;
  c.reach = sagittal_squared - drop * drop;
  const J r = guarded_sqrt(c.reach, kLeastReach);
  c.hip_x = c.knee_x - k.thigh * r;
  c.hip_y = c.knee_y - k.thigh * drop;
  c.thigh_angle = atan2(r, -drop);
  c.hip_abduction = atan2(out, sqrt(r * r + drop * drop));
  // Knee axis a = s x y with y = (-r, -drop, -out) the thigh's upward unit vector.
  const J ax = sz * drop - sy * out;
  const J ay = sx * out - sz * r;
  const J az = sy * r - sx * drop;
  c.knee_flexion = atan2(sqrt(ax * ax + ay * ay + az * az), -(sx * r + sy * drop + sz * out));
  // Rotation of the knee axis about the thigh against the pelvis's transverse axis.
  const J along_x = ay * r - ax * drop;  // a . (y x z)
  const J along_z =
      az * (J(S(1.0)) - out_squared) - (ax * r + ay * drop) * out;  // a . (z - (z . y) y)
  c.hip_external_rotation = atan2(-along_x, along_z);
  return c;
}

}  // namespace lintel::posture
