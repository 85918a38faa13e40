// Inverse statics, templated on the scalar: centre of pressure and joint moments as functions that
// separate into a part of the legs' coordinates and a part of the trunk's and arms'. Only vertical
// forces act: weights, the ground under each foot's long axis, the surface under the hips.
#pragma once

#include "base/units.h"
#include "posture/skeleton.h"

namespace lintel::posture {

// Weights [N] (limbs: one side) and centres of mass.
template <typename S>
struct Weights {
  double foot = 0.0, shank = 0.0, thigh = 0.0, pelvis = 0.0, lumbar = 0.0, thorax = 0.0, head = 0.0,
         arms = 0.0;                              // arms: both
  double shank_center = 0.0, thigh_center = 0.0;  // from the upper end, fraction
  S bar = S(0.0);
  S total = S(0.0);
  S seat_share = S(0.0);
  S pelvis_center, lumbar_center, thorax_center, head_center;  // above their lower ends [m]
  S arm_moment;  // both arms: sum of weight times distance from the shoulder [N m]
};

template <typename S>
Weights<S> make_weights(const BodyParameters& body, const body::Setup& setup, const Inputs<S>& in) {
  using body::Part;
  using body::Segment;
  const auto part = [&body](Part p) -> const body::PartParameters& {
    return body.parts[static_cast<std::size_t>(p)];
  };
  const double g = body.body_mass * kGravity;
  Weights<S> w;
  w.foot = g * part(Part::Foot).mass_fraction;
  w.shank = g * part(Part::Shank).mass_fraction;
  w.thigh = g * part(Part::Thigh).mass_fraction;
  w.pelvis = g * part(Part::Pelvis).mass_fraction;
  w.lumbar = g * part(Part::Lumbar).mass_fraction;
  w.thorax = g * part(Part::Thorax).mass_fraction;
  w.head = g * part(Part::Head).mass_fraction;
  const double upper_arm = 2.0 * g * part(Part::UpperArm).mass_fraction;
  const double forearm = 2.0 * g * part(Part::Forearm).mass_fraction;
  const double hand = 2.0 * g * part(Part::Hand).mass_fraction;
  w.arms = upper_arm + forearm + hand;
  w.shank_center = part(Part::Shank).center_of_mass;
  w.thigh_center = part(Part::Thigh).center_of_mass;
  const bool loaded = setup.bar_position != body::BarPosition::None;
  w.bar = loaded ? S(kGravity) * in[Lever::BarMass] : S(0.0);
  w.total =
      S(2.0 * (w.foot + w.shank + w.thigh) + w.pelvis + w.lumbar + w.thorax + w.head + w.arms) +
      w.bar;
  w.seat_share = setup.surface_height ? in[Lever::SeatShare] : S(0.0);
  w.pelvis_center = S(body.trunk.pelvis_center) * in[Segment::Trunk];
  w.lumbar_center = S(body.trunk.lumbar_center) * in[Segment::Trunk];
  w.thorax_center = S(body.trunk.thorax_center) * in[Segment::Trunk];
  w.head_center = in[Segment::HeadNeck] - S(body.trunk.head_center_below_vertex * body.stature);
  const S upper = in[Segment::UpperArm];
  const S to_wrist = upper + in[Segment::Forearm];
  w.arm_moment =
      S(upper_arm * part(Part::UpperArm).center_of_mass) * upper +
      S(forearm) * (upper + S(part(Part::Forearm).center_of_mass) * in[Segment::Forearm]) +
      S(hand) * (to_wrist + S(body.trunk.hand_center_from_wrist * body.stature));
  return w;
}

// A function that is a sum of one of the leg coordinates (ankle dorsiflexion, knee line, thigh
// drop) and one of the trunk coordinates (pelvic tilt, lumbar flexion, thoracic extension, arm
// inclination).
template <typename S>
struct Separable {
  Jet2<S, 3> low;
  Jet2<S, 4> up;
  S value() const { return low.v + up.v; }
};

// Trunk and arms, in x from the hip; see docs/model.md, "Statics".
template <typename S>
struct UpperChain {
  using J = Jet2<S, 4>;
  J trunk_x, trunk_y;       // mid-hip to mid-shoulder
  J moment_about_hip;       // sum of weight times x from the hip, everything above the hips [N m]
  J moment_about_lumbar;    // the same from the lumbar hinge, everything above it
  J moment_about_shoulder;  // arms and bar (overhead), from the shoulder
};

template <typename S>
UpperChain<S> compute_upper_chain(const Skeleton<S>& k, const Weights<S>& w, const S& pelvic_tilt,
                                  const S& lumbar_flexion, const S& thoracic_extension,
                                  const S& arm_inclination) {
  using J = Jet2<S, 4>;
  UpperChain<S> c;
  const J pelvis = J::variable(pelvic_tilt, 0);
  const J lumbar = pelvis + J::variable(lumbar_flexion, 1);
  const J thorax = lumbar - J::variable(thoracic_extension, 2);
  const J sin_pelvis = sin(pelvis), cos_pelvis = cos(pelvis);
  const J sin_lumbar = sin(lumbar), cos_lumbar = cos(lumbar);
  const J sin_thorax = sin(thorax), cos_thorax = cos(thorax);
  c.trunk_x = k.pelvis * sin_pelvis + k.lumbar * sin_lumbar + k.thorax * sin_thorax;
  c.trunk_y = k.pelvis * cos_pelvis + k.lumbar * cos_lumbar + k.thorax * cos_thorax;
  const S on_shoulder = S(w.head + w.arms) + w.bar;
  const S above_thorax = S(w.thorax) + on_shoulder;
  const S above_lumbar = S(w.lumbar) + above_thorax;
  c.moment_about_shoulder = J(S(0.0));
  J carried = (S(w.head) * w.head_center) * sin(S(k.head_follows) * thorax);
  if (k.overhead) {
    const J arm = J::variable(arm_inclination, 3);
    c.moment_about_shoulder = (k.cos_spread * (w.arm_moment + w.bar * k.arm)) * sin(arm);
    carried = carried + c.moment_about_shoulder;
  } else {
    // The arms rest beside the bar: their weight is taken at the shoulder.
    carried = carried + (w.bar * k.bar_along) * sin_thorax + (w.bar * k.bar_normal) * cos_thorax;
  }
  c.moment_about_lumbar = (S(w.lumbar) * w.lumbar_center + above_thorax * k.lumbar) * sin_lumbar +
                          (S(w.thorax) * w.thorax_center + on_shoulder * k.thorax) * sin_thorax +
                          carried;
  c.moment_about_hip = (S(w.pelvis) * w.pelvis_center + above_lumbar * k.pelvis) * sin_pelvis +
                       c.moment_about_lumbar;
  return c;
}

// Where the results go. Internal moments of one leg and one arm and of the low back, positive as
// named; "frontal" about X with the load outside of the joint positive.
template <typename S>
struct Statics {
  Separable<S>& center_of_pressure;  // x of the ground force [m]
  Separable<S>& ankle;               // plantarflexion, about the foot's transverse axis [N m]
  Separable<S>&knee, &knee_frontal;  // extension
  Separable<S>&hip, &hip_frontal;    // extension
  Separable<S>& low_back;            // extension
  Separable<S>& shoulder;            // flexion
};

// a * x + b * y + constant, one pass.
template <typename S, int N>
void combine(const S& a, const Jet2<S, N>& x, const S& b, const Jet2<S, N>& y, const S& constant,
             Jet2<S, N>& out) {
  out.v = a * x.v + b * y.v + constant;
  for (std::size_t i = 0; i < N; ++i) out.g[i] = a * x.g[i] + b * y.g[i];
  for (std::size_t i = 0; i < Jet2<S, N>::kPacked; ++i) out.h[i] = a * x.h[i] + b * y.h[i];
}

template <typename S, int N>
void combine(const S& a, const Jet2<S, N>& x, const S& b, const Jet2<S, N>& y, const S& c,
             const Jet2<S, N>& z, const S& constant, Jet2<S, N>& out) {
  out.v = a * x.v + b * y.v + c * z.v + constant;
  for (std::size_t i = 0; i < N; ++i) out.g[i] = a * x.g[i] + b * y.g[i] + c * z.g[i];
  for (std::size_t i = 0; i < Jet2<S, N>::kPacked; ++i) {
    out.h[i] = a * x.h[i] + b * y.h[i] + c * z.h[i];
  }
}

template <typename S, int N>
void scale(const S& a, const Jet2<S, N>& x, const S& constant, Jet2<S, N>& out) {
  out.v = a * x.v + constant;
  for (std::size_t i = 0; i < N; ++i) out.g[i] = a * x.g[i];
  for (std::size_t i = 0; i < Jet2<S, N>::kPacked; ++i) out.h[i] = a * x.h[i];
}

// Everything is linear in the x and z of knee and hip and in the trunk's moment about the hip.
template <typename S>
void compute_statics(const Skeleton<S>& k, const Weights<S>& w, const LowerChain<S>& low,
                     const UpperChain<S>& up, const Statics<S>& r) {
  const S foot_x = k.foot_center_u * k.cos_toe;
  const S foot_out = k.foot_center_u * k.sin_toe;  // outwards of the ankle
  const S above = S(w.pelvis + w.lumbar + w.thorax + w.head + w.arms) + w.bar;
  const double shank_share = 1.0 - w.shank_center;  // x of the shank's centre / x of the knee
  const double thigh_share = w.thigh_center;        // the same for the thigh, of knee and hip
  const S seat = w.seat_share * w.total;
  const S on_feet = w.total - seat;
  const S inverse = S(1.0) / on_feet;
  // Weights of both legs and of what rests on the hips, less what the surface carries there.
  const S by_knee = S(2.0 * (w.shank * shank_share + w.thigh * thigh_share)) * inverse;
  const S by_hip = (S(2.0 * w.thigh * (1.0 - thigh_share)) + above - seat) * inverse;
  Jet2<S, 3>& cop = r.center_of_pressure.low;
  combine(by_knee, low.knee_x, by_hip, low.hip_x, S(2.0 * w.foot) * foot_x * inverse, cop);
  const S none = S(0.0);
  scale(inverse, up.moment_about_hip, none, r.center_of_pressure.up);
  const Jet2<S, 4>& cop_up = r.center_of_pressure.up;

  const S force = S(0.5) * on_feet;  // under one foot
  const S inverse_cos = S(1.0) / k.cos_toe;
  const S tangent = k.sin_toe * inverse_cos;
  scale(force * inverse_cos, cop, S(-w.foot) * k.foot_center_u, r.ankle.low);
  scale(force * inverse_cos, cop_up, none, r.ankle.up);

  // Load on the far side of the knee: ground force less foot and shank.
  const S knee_factor = S(w.foot + w.shank * (1.0 - shank_share)) - force;
  combine(-force, cop, -knee_factor, low.knee_x, S(w.foot) * foot_x, r.knee.low);
  scale(-force, cop_up, none, r.knee.up);
  combine(force * tangent, cop, knee_factor, low.knee_z,
          S(-w.foot) * foot_out - knee_factor * k.half_stance, r.knee_frontal.low);
  scale(force * tangent, cop_up, none, r.knee_frontal.up);

  const double knee_weight = w.shank * shank_share + w.thigh * thigh_share;
  const S hip_factor =
      S(w.foot + w.shank + w.thigh * thigh_share) - force;  // thigh's hip share cancels
  combine(force, cop, S(-knee_weight), low.knee_x, hip_factor, low.hip_x, S(-w.foot) * foot_x,
          r.hip.low);
  scale(force, cop_up, none, r.hip.up);
  const S hip_out = k.half_hip - k.half_stance;  // of the ankle
  combine(force * tangent, cop, S(-knee_weight), low.knee_z,
          S(-w.foot) * foot_out + S(knee_weight) * k.half_stance + hip_factor * hip_out,
          r.hip_frontal.low);
  scale(force * tangent, cop_up, none, r.hip_frontal.up);
  r.low_back.up = up.moment_about_lumbar;
  scale(S(0.5), up.moment_about_shoulder, none, r.shoulder.up);
}

}  // namespace lintel::posture
