// The optimisation problem: quantities of a posture, the edges on them, the objective. Each
// quantity is separable (statics.h), so that its Hessian is two small blocks.
#pragma once

#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include <Eigen/Core>

#include "posture/limits.h"
#include "posture/posture.h"
#include "posture/skeleton.h"
#include "posture/statics.h"

namespace lintel::posture {

enum class Quantity : std::uint8_t {
  AnkleDorsiflexion,
  KneeLine,
  ThighDrop,
  PelvicTilt,
  LumbarFlexion,
  ThoracicExtension,
  ArmInclination,  // the coordinates, in their order
  KneeFlexion,
  HipFlexionNet,
  HipAbduction,
  HipExternalRotation,
  ShoulderNet,
  LatissimusNet,
  Balance,
  KneeAhead,
  ReachShortfall,
  TrunkInclination,
  AnkleMoment,
  KneeMoment,
  KneeFrontal,
  HipMoment,
  HipFrontal,
  LowBackMoment,
  ShoulderMoment,
  Depth,
};
inline constexpr int kQuantityCount = 25;
inline constexpr int kMomentCount = 7;

// Which quantity a limit bounds, in which direction, in which unit against radians.
struct LimitRow {
  Quantity quantity;
  double sign;
};
inline constexpr std::array<LimitRow, kLimitCount> kLimitRows = {{
    {Quantity::AnkleDorsiflexion, 1.0},
    {Quantity::KneeFlexion, 1.0},
    {Quantity::HipFlexionNet, 1.0},
    {Quantity::HipAbduction, 1.0},
    {Quantity::HipExternalRotation, 1.0},
    {Quantity::LumbarFlexion, 1.0},
    {Quantity::LumbarFlexion, -1.0},
    {Quantity::ThoracicExtension, 1.0},
    {Quantity::ThoracicExtension, -1.0},
    {Quantity::ShoulderNet, 1.0},
    {Quantity::LatissimusNet, 1.0},
    {Quantity::ArmInclination, 1.0},
    {Quantity::ArmInclination, -1.0},
    {Quantity::KneeLine, 1.0},
    {Quantity::KneeLine, -1.0},
    {Quantity::Balance, 1.0},
    {Quantity::Balance, -1.0},
    {Quantity::KneeAhead, 1.0},
    {Quantity::ReachShortfall, 1.0},
    {Quantity::HipExternalRotation, -1.0},
}};

template <typename S>
using Quantities = std::array<Separable<S>, kQuantityCount>;

// Numbers of data/mobility/limits.csv that the objective uses, read once.
struct ObjectiveNumbers {
  double radians_per_metre;
  double spine_weight, knee_line_weight;
  double lumbar_range, thoracic_range, knee_line_range;
};
const ObjectiveNumbers& objective_numbers();

// Everything fixed in a solve, with derivatives by the inputs if S carries them.
template <typename S>
struct Problem {
  Skeleton<S> skeleton;
  Weights<S> weights;
  Couplings couplings;
  S balance_target;     // x of the wanted centre of pressure
  S knee_ahead_origin;  // x of the toe tip
  S frozen_drop;        // thigh drop, where the setup fixes it
  double frozen_arm = 0.0;
  std::array<bool, kCoordinateCount> frozen{};
  std::array<S, kLimitCount> edge;
  std::array<double, kLimitCount> soft_width{};
  std::array<double, kLimitCount> hard_margin{};
  std::array<double, kLimitCount> scale{};  // to radians of trunk inclination
  std::array<bool, kLimitCount> active{};   // there is such a limit
  std::array<double, kMomentCount> inverse_capacity{};
  ObjectiveWeights objective;
};

template <typename S>
Inputs<S> make_inputs(const Model& model) {
  Inputs<S> in;
  for (std::size_t i = 0; i < body::kSegmentCount; ++i) {
    in.lengths[i] = S(model.body().lengths.length[i].value);
  }
  for (std::size_t i = 0; i < kLimitCount; ++i) in.edges[i] = S(model.limits().edges[i].edge);
  const body::Setup& s = model.setup();
  in.levers = {S(s.stance_width),
               S(s.toe_out),
               S(s.heel_elevation),
               S(s.grip_width),
               S(s.bar_mass),
               S(s.depth),
               S(s.surface_height.value_or(0.0)),
               S(s.seat_share),
               S(s.center_of_pressure_target)};
  return in;
}

// The model's setup; without the surface where depth itself is the aim.
inline body::Setup effective_setup(const Model& model, const ObjectiveWeights& objective) {
  body::Setup setup = model.setup();
  if (objective.thigh_drop != 0.0) {
    setup.surface_height.reset();
    setup.seat_share = 0.0;
  }
  return setup;
}

template <typename S>
Problem<S> make_problem(const Model& model, const ObjectiveWeights& objective,
                        const Inputs<S>& in) {
  const body::Setup setup = effective_setup(model, objective);
  Problem<S> p;
  p.skeleton = make_skeleton(model.body(), setup, in);
  p.weights = make_weights(model.body(), setup, in);
  p.couplings = model.limits().couplings;
  const Skeleton<S>& k = p.skeleton;
  p.balance_target = k.mid_foot_u * k.cos_toe + in[Lever::CenterOfPressureTarget];
  p.knee_ahead_origin = k.toe_u * k.cos_toe;
  p.objective = objective;
  p.frozen[static_cast<std::size_t>(Coordinate::ThighDrop)] = objective.thigh_drop == 0.0;
  p.frozen_drop = in[Lever::Depth] / k.thigh;
  const bool arms_free = setup.bar_position == body::BarPosition::Overhead;
  p.frozen[static_cast<std::size_t>(Coordinate::ArmInclination)] = !arms_free;
  // Free arms are held out in front as a counterweight.
  p.frozen_arm = setup.bar_position == body::BarPosition::None ? 0.5 * std::numbers::pi : 0.0;
  const double per_metre = objective_numbers().radians_per_metre;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    const Edge& e = model.limits().edges[i];
    p.edge[i] = in.edges[i];
    p.soft_width[i] = e.soft_width;
    p.hard_margin[i] = e.hard_margin;
    p.scale[i] = is_length(limit) ? per_metre : 1.0;
    p.active[i] = std::isfinite(e.edge);
    const bool of_arm = limit == Limit::ShoulderElevation || limit == Limit::LatissimusLength ||
                        limit == Limit::ArmTiltForward || limit == Limit::ArmTiltBackward;
    if (of_arm && !arms_free) p.active[i] = false;
  }
  const auto reach = static_cast<std::size_t>(Limit::ThighReach);
  p.active[reach] = true;
  p.edge[reach] = S(0.0);
  p.soft_width[reach] = 0.0;
  p.hard_margin[reach] = 0.0;
  p.scale[reach] = 1.0;
  const Capacities& c = model.body().capacities;
  p.inverse_capacity = {1.0 / c.ankle, 1.0 / c.knee,     1.0 / c.knee,    1.0 / c.hip,
                        1.0 / c.hip,   1.0 / c.low_back, 1.0 / c.shoulder};
  return p;
}

// q must start as zeros (or as a former result): parts that are zero for every posture are not
// written.
template <typename S>
void compute_quantities(const Problem<S>& p, const std::array<S, kCoordinateCount>& x,
                        Quantities<S>& q) {
  const auto at = [&q](Quantity name) -> Separable<S>& {
    return q[static_cast<std::size_t>(name)];
  };
  const Skeleton<S>& k = p.skeleton;
  const LowerChain<S> low = compute_lower_chain(k, x[0], x[1], x[2]);
  const UpperChain<S> up = compute_upper_chain(k, p.weights, x[3], x[4], x[5], x[6]);
  for (std::size_t i = 0; i < 3; ++i) {
    q[i].low.v = x[i];
    q[i].low.g[i] = S(1.0);
  }
  for (std::size_t i = 3; i < kCoordinateCount; ++i) {
    q[i].up.v = x[i];
    q[i].up.g[i - 3] = S(1.0);
  }
  at(Quantity::KneeFlexion).low = low.knee_flexion;
  // Abduction and rotation buy flexion, with a gain that levels off.
  const double saturation = p.couplings.hip_flexion_gain_saturation;
  at(Quantity::HipFlexionNet).low = low.thigh_angle;
  if (saturation > 0.0) {
    const Jet2<S, 3> bought =
        S(saturation) *
        tanh(S(p.couplings.hip_flexion_per_abduction / saturation) * low.hip_abduction +
             S(p.couplings.hip_flexion_per_external_rotation / saturation) *
                 low.hip_external_rotation);
    at(Quantity::HipFlexionNet).low = low.thigh_angle - bought;
  }
  at(Quantity::HipFlexionNet).up.v = x[3];
  at(Quantity::HipFlexionNet).up.g[0] = S(1.0);
  at(Quantity::HipAbduction).low = low.hip_abduction;
  at(Quantity::HipExternalRotation).low = low.hip_external_rotation;
  // Arm against thorax, less what the grip's spread buys.
  const S elevation = S(std::numbers::pi) + x[3] + x[4] - x[5] - x[6];
  const S per_lumbar = S(p.couplings.latissimus_per_lumbar_flexion);
  Jet2<S, 4>& shoulder = at(Quantity::ShoulderNet).up;
  shoulder.v = elevation - S(p.couplings.shoulder_per_grip_abduction) * k.spread;
  shoulder.g = {S(1.0), S(1.0), S(-1.0), S(-1.0)};
  Jet2<S, 4>& latissimus = at(Quantity::LatissimusNet).up;
  latissimus.v =
      elevation + per_lumbar * x[4] - S(p.couplings.latissimus_per_grip_abduction) * k.spread;
  latissimus.g = {S(1.0), S(1.0) + per_lumbar, S(-1.0), S(-1.0)};
  at(Quantity::KneeAhead).low = low.knee_x;
  at(Quantity::KneeAhead).low.v = low.knee_x.v - p.knee_ahead_origin;
  at(Quantity::ReachShortfall).low = -low.reach;
  at(Quantity::ReachShortfall).low.v = S(kLeastReach) - low.reach.v;
  at(Quantity::TrunkInclination).up = atan2(up.trunk_x, up.trunk_y);
  at(Quantity::Depth).low = low.knee_y - low.hip_y;
  compute_statics(
      k, p.weights, low, up,
      Statics<S>{at(Quantity::Balance), at(Quantity::AnkleMoment), at(Quantity::KneeMoment),
                 at(Quantity::KneeFrontal), at(Quantity::HipMoment), at(Quantity::HipFrontal),
                 at(Quantity::LowBackMoment), at(Quantity::ShoulderMoment)});
  at(Quantity::Balance).low.v = at(Quantity::Balance).low.v - p.balance_target;
}

inline constexpr double kUprightRounding = 0.05;  // [rad]

// The objective as a function of the quantities, and what the solver needs of it.
template <typename S>
struct Evaluation {
  S objective;
  std::array<S, kQuantityCount> slope;        // d objective / d quantity
  std::array<double, kQuantityCount> bend{};  // second derivative
  std::array<S, kLimitCount> constraint;      // scaled; <= 0 inside the hard stop
  std::array<S, kLimitCount> resistance;      // slope of the soft edge in its scaled unit
};

template <typename S>
void compute_objective(const Problem<S>& p, const Quantities<S>& q, Evaluation<S>& e) {
  e.objective = S(0.0);
  e.slope.fill(S(0.0));
  e.bend.fill(0.0);
  const auto index = [](Quantity name) { return static_cast<std::size_t>(name); };
  const ObjectiveWeights& w = p.objective;
  const auto add_linear = [&](Quantity name, double weight) {
    e.objective = e.objective + S(weight) * q[index(name)].value();
    e.slope[index(name)] = e.slope[index(name)] + S(weight);
  };
  const auto add_square = [&](std::size_t i, double weight) {
    const S value = q[i].value();
    e.objective = e.objective + S(weight) * value * value;
    e.slope[i] = e.slope[i] + S(2.0 * weight) * value;
    e.bend[i] += 2.0 * weight;
  };
  if (w.trunk_inclination != 0.0) {
    // |inclination|, rounded near zero: leaning backwards is no more upright than leaning forwards.
    using std::sqrt;
    const std::size_t i = index(Quantity::TrunkInclination);
    const S value = q[i].value();
    const S root = sqrt(value * value + S(kUprightRounding * kUprightRounding));
    e.objective = e.objective + S(w.trunk_inclination) * (root - S(kUprightRounding));
    e.slope[i] = e.slope[i] + S(w.trunk_inclination) * value / root;
    const double r = value_of(root);
    e.bend[i] += w.trunk_inclination * kUprightRounding * kUprightRounding / (r * r * r);
  }
  if (w.thigh_drop != 0.0) add_linear(Quantity::ThighDrop, -w.thigh_drop);
  for (std::size_t i = 0; i < kMomentCount; ++i) {
    const double c = p.inverse_capacity[i];
    add_square(index(Quantity::AnkleMoment) + i, w.effort * c * c);
  }
  const ObjectiveNumbers& n = objective_numbers();
  add_square(index(Quantity::LumbarFlexion),
             w.spine * n.spine_weight / (n.lumbar_range * n.lumbar_range));
  add_square(index(Quantity::ThoracicExtension),
             w.spine * n.spine_weight / (n.thoracic_range * n.thoracic_range));
  add_square(index(Quantity::KneeLine),
             w.spine * n.knee_line_weight / (n.knee_line_range * n.knee_line_range));
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    e.resistance[i] = S(0.0);
    e.constraint[i] = S(-1.0);
    if (!p.active[i]) continue;
    const std::size_t j = index(kLimitRows[i].quantity);
    const double sign = kLimitRows[i].sign;
    const S beyond = S(p.scale[i]) * (S(sign) * q[j].value() - p.edge[i]);
    e.constraint[i] = beyond - S(p.scale[i] * p.hard_margin[i]);
    const double width = p.scale[i] * p.soft_width[i];
    const S into = beyond + S(width);
    if (width > 0.0 && value_of(into) > 0.0) {
      // Passive resistance: into^3 / (3 width^2), slope 1 at the edge.
      const double f = w.edges / (width * width);
      e.objective = e.objective + S(f / 3.0) * into * into * into;
      e.resistance[i] = S(f) * into * into;
      e.slope[j] = e.slope[j] + S(sign * p.scale[i]) * e.resistance[i];
      e.bend[j] += p.scale[i] * p.scale[i] * 2.0 * f * value_of(into);
    }
  }
}

using Vector7 = Eigen::Matrix<double, kCoordinateCount, 1>;
using Matrix7 = Eigen::Matrix<double, kCoordinateCount, kCoordinateCount>;

template <typename S>
S gradient_entry(const Separable<S>& q, std::size_t i) {
  return i < 3 ? q.low.g[i] : q.up.g[i - 3];
}

}  // namespace lintel::posture
