#include <cmath>
#include <optional>

#include "body/tables.h"
#include "posture/posture.h"

namespace lintel::posture {
namespace {

constexpr int kSteps = 12;       // along the allowed range, before bisection
constexpr int kBisections = 14;  // 1e-4 of one step's range

double& lever_of(body::Setup& setup, Lever lever) {
  switch (lever) {
    case Lever::StanceWidth:
      return setup.stance_width;
    case Lever::ToeOut:
      return setup.toe_out;
    case Lever::HeelElevation:
      return setup.heel_elevation;
    case Lever::GripWidth:
      return setup.grip_width;
    case Lever::BarMass:
      return setup.bar_mass;
    case Lever::Depth:
      return setup.depth;
    case Lever::SurfaceHeight:
      return *setup.surface_height;
    case Lever::SeatShare:
      return setup.seat_share;
    case Lever::CenterOfPressureTarget:
      return setup.center_of_pressure_target;
  }
  return setup.depth;
}

bool applies(const body::Setup& setup, Lever lever) {
  switch (lever) {
    case Lever::SurfaceHeight:
    case Lever::SeatShare:
      return setup.surface_height.has_value();
    case Lever::Depth:
      return !setup.surface_height.has_value();
    case Lever::GripWidth:
      return setup.bar_position == body::BarPosition::Overhead;
    case Lever::BarMass:
      return setup.bar_position != body::BarPosition::None;
    default:
      return true;
  }
}

// The value nearest to `from`, on the way to `to`, at which possible() holds.
template <typename Possible>
std::optional<double> first_possible(double from, double to, const Possible& possible) {
  double good = from;
  double bad = from;
  bool found = false;
  for (int i = 1; i <= kSteps && !found; ++i) {
    const double value = from + (to - from) * i / kSteps;
    if (possible(value)) {
      good = value;
      found = true;
    } else {
      bad = value;
    }
  }
  if (!found) return std::nullopt;
  for (int i = 0; i < kBisections; ++i) {
    const double middle = 0.5 * (good + bad);
    (possible(middle) ? good : bad) = middle;
  }
  return good;
}

Fix nearer(double now, const std::optional<double>& a, const std::optional<double>& b) {
  Fix fix;
  for (const auto& value : {a, b}) {
    if (!value) continue;
    if (!fix.possible || std::abs(*value - now) < std::abs(fix.change)) {
      fix = {true, *value, *value - now};
    }
  }
  return fix;
}

}  // namespace

Infeasibility explain_infeasibility(const Model& model, const Solution& solution,
                                    const Options& options) {
  Infeasibility out;
  out.conflict = solution.conflict;
  const WarmStart warm = solution.warm_start;
  const auto solvable = [&](const body::Setup& setup, const Limits& limits) {
    const auto changed = Model::create(model.body(), setup, limits);
    return changed && solve(*changed, solution.weights, options, &warm).outcome == Outcome::Solved;
  };
  for (int i = 0; i < kLeverCount; ++i) {
    const auto lever = static_cast<Lever>(i);
    body::Setup setup = model.setup();
    if (!applies(setup, lever)) continue;
    const body::Number& range = body::range_table()[lever_name(lever)];
    const double now = lever_of(setup, lever);
    const auto possible = [&](double value) {
      lever_of(setup, lever) = value;
      return solvable(setup, model.limits());
    };
    out.by_lever[static_cast<std::size_t>(i)] = nearer(
        now, first_possible(now, range.high, possible), first_possible(now, range.low, possible));
  }
  for (int i = 0; i < kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    const double now = model.limits()[limit].edge;
    // A limit outside of the conflict cannot end it alone.
    if (!out.conflict[static_cast<std::size_t>(i)] || !std::isfinite(now)) continue;
    if (limit == Limit::ThighReach) continue;
    Limits limits = model.limits();
    const auto possible = [&](double value) {
      limits[limit].edge = value;
      return solvable(model.setup(), limits);
    };
    const double more = is_length(limit) ? 0.10 : 30.0 * kRadiansPerDegree;
    out.by_limit[static_cast<std::size_t>(i)] =
        nearer(now, first_possible(now, now + more, possible), std::nullopt);
  }
  const Solution deepest = solve_deepest(model, options);
  out.deepest_known = deepest.outcome == Outcome::Solved;
  if (out.deepest_known) out.deepest = deepest.posture.depth;
  return out;
}

}  // namespace lintel::posture
