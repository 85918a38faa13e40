#include "posture/sensitivity.h"

#include <algorithm>

#include <Eigen/LU>

#include "posture/problem.h"
#include "posture/solver.h"

namespace lintel::posture {
namespace {

constexpr int kChunk = 11;  // parameters at a time
using Scalar = Jet<kChunk>;

constexpr int kMostActive = kCoordinateCount;
constexpr int kMostRows = kCoordinateCount + kMostActive;
using System = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMostRows, kMostRows>;
using Column = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMostRows, 1>;

struct ActiveSet {
  std::array<int, kMostActive> row{};
  int count = 0;
};

void seed(Inputs<Scalar>& in, int parameter, int slot) {
  Scalar* target = nullptr;
  if (parameter < kLimitCount) {
    target = &in.edges[static_cast<std::size_t>(parameter)];
  } else if (parameter < kLimitCount + kLeverCount) {
    target = &in.levers[static_cast<std::size_t>(parameter - kLimitCount)];
  } else {
    target = &in.lengths[static_cast<std::size_t>(parameter - kLimitCount - kLeverCount)];
  }
  target->d[static_cast<std::size_t>(slot)] = 1.0;
}

double& output(OutputSensitivity& o, int parameter) {
  if (parameter < kLimitCount) return o.by_limit[static_cast<std::size_t>(parameter)];
  if (parameter < kLimitCount + kLeverCount) {
    return o.by_lever[static_cast<std::size_t>(parameter - kLimitCount)];
  }
  return o.by_length[static_cast<std::size_t>(parameter - kLimitCount - kLeverCount)];
}

Vector7 gradient_of(const Separable<double>& q) {
  Vector7 g;
  for (std::size_t i = 0; i < kCoordinateCount; ++i) g(static_cast<int>(i)) = gradient_entry(q, i);
  return g;
}

System build_system(const Problem<double>& problem, const Point& point, const ActiveSet& active,
                    const std::array<double, kLimitCount>& multipliers) {
  Matrix7 h = compute_hessian(problem, point, multipliers, 1.0);
  for (int i = 0; i < kCoordinateCount; ++i) {
    if (!problem.frozen[static_cast<std::size_t>(i)]) continue;
    h.row(i).setZero();
    h.col(i).setZero();
    h(i, i) = 1.0;
  }
  const int n = kCoordinateCount + active.count;
  System system = System::Zero(n, n);
  system.topLeftCorner<kCoordinateCount, kCoordinateCount>() = h;
  for (int a = 0; a < active.count; ++a) {
    const auto row = point.rows.row(active.row[static_cast<std::size_t>(a)]);
    system.block<1, kCoordinateCount>(kCoordinateCount + a, 0) = row;
    system.block<kCoordinateCount, 1>(0, kCoordinateCount + a) = row.transpose();
  }
  return system;
}

}  // namespace

Result<Sensitivities> compute_sensitivities(const Model& model, const Solution& solution) {
  if (solution.outcome != Outcome::Solved) {
    return fail(ErrorCode::Invalid, "sensitivities need a solved posture",
                "solve with other limits or another setup first");
  }
  const Problem<double> problem = make_problem(model, solution.weights, make_inputs<double>(model));
  Point point;
  point.x = solution.posture.coordinates;
  evaluate_point(problem, point);
  ActiveSet active;
  for (int i = 0; i < kLimitCount && active.count < kMostActive; ++i) {
    if (solution.multipliers[static_cast<std::size_t>(i)] > 0.0) {
      active.row[static_cast<std::size_t>(active.count++)] = i;
    }
  }
  const System system = build_system(problem, point, active, solution.multipliers);
  const Eigen::FullPivLU<System> factors(system);
  if (!factors.isInvertible()) {
    return fail(ErrorCode::Internal, "the optimality system of this posture is singular");
  }
  const auto quantity = [&point](Quantity q) -> const Separable<double>& {
    return point.quantities[static_cast<std::size_t>(q)];
  };
  const Vector7 trunk = gradient_of(quantity(Quantity::TrunkInclination));
  const Vector7 elevation = gradient_of(quantity(Quantity::ShoulderNet));
  const Vector7 depth = gradient_of(quantity(Quantity::Depth));

  Sensitivities result;
  for (int first = 0; first < kParameterCount; first += kChunk) {
    Inputs<Scalar> in = make_inputs<Scalar>(model);
    const int count = std::min(kChunk, kParameterCount - first);
    for (int slot = 0; slot < count; ++slot) seed(in, first + slot, slot);
    const Problem<Scalar> shifted = make_problem(model, solution.weights, in);
    std::array<Scalar, kCoordinateCount> x;
    for (std::size_t i = 0; i < kCoordinateCount; ++i) x[i] = Scalar(point.x[i]);
    constexpr auto kDrop = static_cast<std::size_t>(Coordinate::ThighDrop);
    if (problem.frozen[kDrop]) x[kDrop] = shifted.frozen_drop;
    Quantities<Scalar> q{};
    compute_quantities(shifted, x, q);
    Evaluation<Scalar> e;
    compute_objective(shifted, q, e);
    std::array<Scalar, kCoordinateCount> residual{};
    for (std::size_t j = 0; j < kQuantityCount; ++j) {
      Scalar weight = e.slope[j];
      for (std::size_t i = 0; i < kLimitCount; ++i) {
        if (static_cast<std::size_t>(kLimitRows[i].quantity) != j) continue;
        weight += Scalar(solution.multipliers[i] * kLimitRows[i].sign * problem.scale[i]);
      }
      for (std::size_t i = 0; i < kCoordinateCount; ++i) {
        residual[i] += weight * gradient_entry(q[j], i);
      }
    }
    const auto moved = [&q](Quantity name, std::size_t slot) {
      return q[static_cast<std::size_t>(name)].value().d[slot];
    };
    for (int slot = 0; slot < count; ++slot) {
      const auto u = static_cast<std::size_t>(slot);
      Column right = Column::Zero(system.rows());
      for (std::size_t i = 0; i < kCoordinateCount; ++i) {
        if (!problem.frozen[i]) right(static_cast<int>(i)) = -residual[i].d[u];
      }
      double objective = e.objective.d[u];
      for (int a = 0; a < active.count; ++a) {
        const auto limit = static_cast<std::size_t>(active.row[static_cast<std::size_t>(a)]);
        right(kCoordinateCount + a) = -e.constraint[limit].d[u];
        objective += solution.multipliers[limit] * e.constraint[limit].d[u];
      }
      const Column change = factors.solve(right);
      const Vector7 dx = change.head<kCoordinateCount>();
      output(result.trunk_inclination, first + slot) =
          moved(Quantity::TrunkInclination, u) + trunk.dot(dx);
      output(result.shoulder_elevation, first + slot) = elevation.dot(dx);
      output(result.depth, first + slot) = moved(Quantity::Depth, u) + depth.dot(dx);
      output(result.objective, first + slot) = objective;
    }
  }
  return result;
}

}  // namespace lintel::posture
