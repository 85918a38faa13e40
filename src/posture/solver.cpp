#include "posture/solver.h"

#include <algorithm>
#include <cmath>

#include <Eigen/Cholesky>

#include "posture/quadratic_program.h"

namespace lintel::posture {
namespace {

using Multipliers = std::array<double, kLimitCount>;
constexpr int kColdStarts = 5;
constexpr double kLargestStep = 0.35;  // [rad] in any coordinate

double largest_violation(const Problem<double>& p, const Point& point) {
  double worst = 0.0;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    if (p.active[i]) worst = std::max(worst, point.evaluation.constraint[i]);
  }
  return worst;
}

double summed_violation(const Problem<double>& p, const Point& point) {
  double sum = 0.0;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    if (p.active[i]) sum += std::max(0.0, point.evaluation.constraint[i]);
  }
  return sum;
}

double half_square_violation(const Problem<double>& p, const Point& point) {
  double sum = 0.0;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    if (!p.active[i]) continue;
    const double c = std::max(0.0, point.evaluation.constraint[i]);
    sum += 0.5 * c * c;
  }
  return sum;
}

Vector7 lagrangian_gradient(const Point& point, const Multipliers& y) {
  Vector7 g = point.gradient;
  for (int i = 0; i < kLimitCount; ++i) {
    const double yi = y[static_cast<std::size_t>(i)];
    if (yi != 0.0) g += yi * point.rows.row(i).transpose();
  }
  return g;
}

// Rows and columns of frozen coordinates become those of the identity.
void freeze(const Problem<double>& p, Matrix7& h) {
  for (int i = 0; i < kCoordinateCount; ++i) {
    if (!p.frozen[static_cast<std::size_t>(i)]) continue;
    h.row(i).setZero();
    h.col(i).setZero();
    h(i, i) = 1.0;
  }
}

using Cholesky = Eigen::LLT<Matrix7>;

// Cholesky factors of h + shift * I, with the smallest shift of a growing series that makes it
// safely positive definite.
void factor_convexified(const Matrix7& h, Cholesky& factors) {
  double shift = 0.0;
  const double scale = std::max(1e-3, h.diagonal().cwiseAbs().maxCoeff());
  for (int attempt = 0; attempt < 24; ++attempt) {
    Matrix7 shifted = h;
    shifted.diagonal().array() += shift;
    factors.compute(shifted);
    if (factors.info() == Eigen::Success &&
        factors.matrixLLT().diagonal().minCoeff() > 1e-6 * std::sqrt(scale)) {
      return;
    }
    shift = shift == 0.0 ? 1e-5 * scale : 8.0 * shift;
  }
  factors.compute(Matrix7::Identity() * scale);
}

// The step of one iteration: plain Newton where it stays inside the linearised limits.
QuadraticProgramResult compute_step(const Problem<double>& p, const Point& point,
                                    const Cholesky& factors,
                                    const std::array<double, kLimitCount>& room) {
  QuadraticProgramResult plain;
  plain.step = -factors.solve(point.gradient);
  plain.feasible = true;
  const Eigen::Matrix<double, kLimitCount, 1> moved = point.rows * plain.step;
  for (int i = 0; i < kLimitCount; ++i) {
    const auto u = static_cast<std::size_t>(i);
    if (p.active[u] && moved(i) > room[u]) {
      return solve_quadratic_program(factors.solve(Matrix7::Identity()), point.gradient, point.rows,
                                     room, p.active);
    }
  }
  return plain;
}

void move(const Point& from, const Vector7& step, double length, Point& to) {
  for (std::size_t i = 0; i < kCoordinateCount; ++i) {
    to.x[i] = from.x[i] + length * step(static_cast<int>(i));
  }
}

void room_of(const Point& point, std::array<double, kLimitCount>& room) {
  for (std::size_t i = 0; i < kLimitCount; ++i) room[i] = -point.evaluation.constraint[i];
}

// Two points that take turns: no copying of the large one.
struct Pair {
  Point a, b;
  bool first = true;
  Point& now() { return first ? a : b; }
  Point& trial() { return first ? b : a; }
  void accept() { first = !first; }
};

enum class Phase : std::uint8_t { Converged, NoLinearSolution, Stalled, OutOfIterations };

// What the line search needs to know of the present point.
struct Merit {
  double penalty = 1.0;  // of the summed violations
  double value = 0.0;
  double descent = 0.0;  // first-order change along the whole step
  double rounding = 0.0;

  double at(const Problem<double>& p, const Point& point) const {
    return point.evaluation.objective + penalty * summed_violation(p, point);
  }
  bool accepts(double trial, double length) const {
    return trial <= value + 1e-4 * length * descent + rounding;
  }
};

// Fills kkt_residual and violation; true if the conditions hold.
bool is_optimal(const Problem<double>& p, const Options& options, const Point& point,
                const Multipliers& y, SolverResult& result) {
  double complementarity = 0.0;
  double scale = 1.0;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    complementarity = std::max(complementarity, std::abs(y[i] * point.evaluation.constraint[i]));
    scale = std::max(scale, 1.0 + y[i]);
  }
  const double stationarity = lagrangian_gradient(point, y).cwiseAbs().maxCoeff();
  result.kkt_residual = std::max(stationarity, complementarity) / scale;
  result.violation = largest_violation(p, point);
  return result.kkt_residual <= options.tolerance && result.violation <= options.feasibility;
}

// Close to the end the merit is all rounding: there the KKT residual decides.
bool residual_accepts(const Problem<double>& p, const Options& options, const Point& trial,
                      const Multipliers& y, const SolverResult& result) {
  return result.kkt_residual < 1e-4 &&
         largest_violation(p, trial) <= std::max(result.violation, options.feasibility) &&
         lagrangian_gradient(trial, y).cwiseAbs().maxCoeff() < 0.5 * result.kkt_residual;
}

// Second-order correction against the Maratos effect: the step once more, with the limits as they
// are at the trial point. True if the merit accepts it.
bool correct_step(const Problem<double>& p, const Cholesky& factors, const Merit& merit,
                  const Vector7& step, Pair& points) {
  const Point& now = points.now();
  Point& trial = points.trial();
  std::array<double, kLimitCount> corrected;
  const Eigen::Matrix<double, kLimitCount, 1> moved = now.rows * step;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    corrected[i] = moved(static_cast<int>(i)) - trial.evaluation.constraint[i];
  }
  const QuadraticProgramResult second = compute_step(p, now, factors, corrected);
  if (!second.feasible) return false;
  move(now, second.step, 1.0, trial);
  evaluate_point(p, trial);
  return merit.accepts(merit.at(p, trial), 1.0);
}

// The share of the step that is taken, 0 if none helps; points.trial() is then the new point.
double search_line(const Problem<double>& p, const Options& options, const Cholesky& factors,
                   const Merit& merit, const QuadraticProgramResult& qp, const SolverResult& result,
                   Pair& points) {
  const double longest = qp.step.cwiseAbs().maxCoeff();
  double length = longest > kLargestStep ? kLargestStep / longest : 1.0;
  for (int halving = 0; halving < 30; ++halving, length *= 0.5) {
    Point& trial = points.trial();
    move(points.now(), qp.step, length, trial);
    evaluate_point(p, trial);
    if (merit.accepts(merit.at(p, trial), length)) return length;
    if (halving > 0 || length < 1.0) continue;
    if (residual_accepts(p, options, trial, qp.multipliers, result)) return 1.0;
    if (largest_violation(p, trial) > 0.0 && correct_step(p, factors, merit, qp.step, points)) {
      return 1.0;
    }
  }
  return 0.0;
}

// Minimises the objective from points.now(); stops where the linearised limits have no solution.
Phase minimise(const Problem<double>& p, const Options& options, Pair& points, Multipliers& y,
               SolverResult& result) {
  Merit merit;
  for (; result.iterations < options.max_iterations; ++result.iterations) {
    const Point& now = points.now();
    if (is_optimal(p, options, now, y, result)) return Phase::Converged;
    Matrix7 h = compute_hessian(p, now, y, 1.0);
    freeze(p, h);
    Cholesky factors;
    factor_convexified(h, factors);
    std::array<double, kLimitCount> room;
    room_of(now, room);
    const QuadraticProgramResult qp = compute_step(p, now, factors, room);
    if (!qp.feasible) return Phase::NoLinearSolution;
    for (const double m : qp.multipliers) merit.penalty = std::max(merit.penalty, 1.5 * m);
    merit.value = merit.at(p, now);
    merit.descent = now.gradient.dot(qp.step) - merit.penalty * summed_violation(p, now);
    merit.rounding = 1e-13 * (1.0 + std::abs(merit.value));
    const double length = search_line(p, options, factors, merit, qp, result, points);
    if (length == 0.0) return Phase::Stalled;
    for (std::size_t i = 0; i < kLimitCount; ++i) {
      y[i] = length == 1.0 ? qp.multipliers[i] : y[i] + length * (qp.multipliers[i] - y[i]);
    }
    points.accept();
  }
  return Phase::OutOfIterations;
}

// The violated limits of a point as a least-squares problem.
struct Excess {
  Multipliers amount{};
  Vector7 gradient = Vector7::Zero();
  Matrix7 normal = Matrix7::Zero();
};

Excess collect_excess(const Problem<double>& p, const Point& point) {
  Excess e;
  for (int i = 0; i < kLimitCount; ++i) {
    const auto u = static_cast<std::size_t>(i);
    if (!p.active[u] || point.evaluation.constraint[u] <= 0.0) continue;
    e.amount[u] = point.evaluation.constraint[u];
    const Vector7 row = point.rows.row(i).transpose();
    e.gradient += e.amount[u] * row;
    e.normal += row * row.transpose();
  }
  return e;
}

// A Newton step on the squared violations, or a Gauss-Newton step where the full Hessian is not
// positive definite.
Vector7 damped_step(const Problem<double>& p, const Excess& e, const Matrix7& second,
                    double damping) {
  Matrix7 h = e.normal + second;
  h.diagonal().array() += damping;
  freeze(p, h);
  Cholesky factors(h);
  if (factors.info() != Eigen::Success) {
    h = e.normal;
    h.diagonal().array() += damping;
    freeze(p, h);
    factors.compute(h);
  }
  Vector7 step = -factors.solve(e.gradient);
  const double longest = step.cwiseAbs().maxCoeff();
  if (longest > kLargestStep) step *= kLargestStep / longest;
  return step;
}

// Least squares of the violations by damped Newton steps, from points.now(). True if it reaches a
// point that respects all limits.
bool reduce_violation(const Problem<double>& p, const Options& options, Pair& points,
                      SolverResult& result) {
  double damping = 1e-4;
  for (int iteration = 0; iteration < 80; ++iteration, ++result.iterations) {
    const Point& now = points.now();
    if (largest_violation(p, now) <= 0.1 * options.feasibility) return true;
    const Excess e = collect_excess(p, now);
    const double value = half_square_violation(p, now);
    if (e.gradient.cwiseAbs().maxCoeff() <= 1e-10 * std::sqrt(2.0 * value)) return false;
    const Matrix7 second = compute_hessian(p, now, e.amount, 0.0);
    bool accepted = false;
    for (int attempt = 0; attempt < 12 && !accepted; ++attempt) {
      Point& trial = points.trial();
      move(now, damped_step(p, e, second, damping), 1.0, trial);
      evaluate_point(p, trial);
      accepted = half_square_violation(p, trial) < value * (1.0 - 1e-12);
      damping = accepted ? std::max(1e-12, 0.1 * damping) : std::max(1e-10, 10.0 * damping);
    }
    if (!accepted) return false;
    points.accept();
  }
  return largest_violation(p, points.now()) <= options.feasibility;
}

// Starting points: the first is near most solutions, the others are far from it and each other.
// With a free depth they range from a quarter squat to the bottom.
std::array<double, kCoordinateCount> cold_start(const Problem<double>& p, int number) {
  const double ankle = std::min(p.active[0] ? p.edge[0] : 0.6, 0.75);
  std::array<double, kCoordinateCount> x{};
  x[6] = p.frozen[6] ? p.frozen_arm : 0.0;
  x[2] = p.frozen_drop;
  switch (number) {
    case 0:
      x[0] = ankle;
      x[3] = 0.35;
      x[4] = 0.2;
      x[5] = 0.1;
      break;
    case 1:
      x[0] = 0.5 * ankle;
      x[3] = 0.7;
      x[4] = 0.1;
      break;
    case 2:
      x[0] = ankle;
      x[1] = 0.05;
      x[3] = 0.1;
      x[4] = 0.4;
      x[5] = 0.2;
      break;
    case 3:
      x[0] = 0.1;
      x[3] = 1.0;
      x[4] = 0.4;
      break;
    default:
      x[0] = ankle;
      x[3] = 0.1;
      x[4] = -0.1;
      x[5] = -0.35;
      break;
  }
  if (!p.frozen[2]) {
    constexpr std::array<double, kColdStarts> kDrops = {0.1, -0.4, 0.35, -0.85, 0.6};
    x[2] = kDrops[static_cast<std::size_t>(number)];
    if (number == 3) x = {0.4 * ankle, 0.0, x[2], 0.3, 0.0, 0.0, x[6]};
  }
  return x;
}

}  // namespace

void evaluate_point(const Problem<double>& problem, Point& point) {
  compute_quantities(problem, point.x, point.quantities);
  compute_objective(problem, point.quantities, point.evaluation);
  point.gradient.setZero();
  for (std::size_t j = 0; j < kQuantityCount; ++j) {
    const double slope = point.evaluation.slope[j];
    if (slope == 0.0) continue;
    const Separable<double>& q = point.quantities[j];
    for (int i = 0; i < 3; ++i) point.gradient(i) += slope * q.low.g[static_cast<std::size_t>(i)];
    for (int i = 0; i < 4; ++i) {
      point.gradient(3 + i) += slope * q.up.g[static_cast<std::size_t>(i)];
    }
  }
  for (int r = 0; r < kLimitCount; ++r) {
    const auto u = static_cast<std::size_t>(r);
    const Separable<double>& q = point.quantities[static_cast<std::size_t>(kLimitRows[u].quantity)];
    const double f = problem.active[u] ? kLimitRows[u].sign * problem.scale[u] : 0.0;
    for (int i = 0; i < 3; ++i) point.rows(r, i) = f * q.low.g[static_cast<std::size_t>(i)];
    for (int i = 0; i < 4; ++i) point.rows(r, 3 + i) = f * q.up.g[static_cast<std::size_t>(i)];
  }
  for (int i = 0; i < kCoordinateCount; ++i) {
    if (!problem.frozen[static_cast<std::size_t>(i)]) continue;
    point.gradient(i) = 0.0;
    point.rows.col(i).setZero();
  }
}

Matrix7 compute_hessian(const Problem<double>& problem, const Point& point,
                        const Multipliers& multipliers, double objective_factor) {
  std::array<double, kQuantityCount> weight{};
  for (std::size_t j = 0; j < kQuantityCount; ++j) {
    weight[j] = objective_factor * point.evaluation.slope[j];
  }
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    if (multipliers[i] == 0.0 || !problem.active[i]) continue;
    weight[static_cast<std::size_t>(kLimitRows[i].quantity)] +=
        multipliers[i] * kLimitRows[i].sign * problem.scale[i];
  }
  Matrix7 h = Matrix7::Zero();
  for (std::size_t j = 0; j < kQuantityCount; ++j) {
    const Separable<double>& q = point.quantities[j];
    const double bend = objective_factor * point.evaluation.bend[j];
    if (j < kCoordinateCount) {
      h(static_cast<int>(j), static_cast<int>(j)) += bend;
      continue;
    }
    if (weight[j] != 0.0) {
      std::size_t k = 0;
      for (int r = 0; r < 3; ++r) {
        for (int c = r; c < 3; ++c, ++k) h(r, c) += weight[j] * q.low.h[k];
      }
      k = 0;
      for (int r = 3; r < 7; ++r) {
        for (int c = r; c < 7; ++c, ++k) h(r, c) += weight[j] * q.up.h[k];
      }
    }
    if (bend != 0.0) {
      Vector7 g;
      for (std::size_t i = 0; i < kCoordinateCount; ++i) {
        g(static_cast<int>(i)) = gradient_entry(q, i);
      }
      for (int r = 0; r < kCoordinateCount; ++r) {
        const double f = bend * g(r);
        for (int c = r; c < kCoordinateCount; ++c) h(r, c) += f * g(c);
      }
    }
  }
  for (int r = 0; r < kCoordinateCount; ++r) {
    for (int c = 0; c < r; ++c) h(r, c) = h(c, r);
  }
  return h;
}

namespace {

// One start, from the point in points.now() to an end of some kind.
SolverResult solve_from(const Problem<double>& problem, const Options& options, Pair& points,
                        Multipliers y) {
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    if (!problem.active[i]) y[i] = 0.0;
  }
  constexpr auto kDrop = static_cast<std::size_t>(Coordinate::ThighDrop);
  constexpr auto kArm = static_cast<std::size_t>(Coordinate::ArmInclination);
  if (problem.frozen[kDrop]) points.now().x[kDrop] = problem.frozen_drop;
  if (problem.frozen[kArm]) points.now().x[kArm] = problem.frozen_arm;
  evaluate_point(problem, points.now());
  SolverResult result;
  for (int round = 0; round < 4; ++round) {
    const Phase phase = minimise(problem, options, points, y, result);
    if (phase == Phase::Converged) result.outcome = Outcome::Solved;
    if (phase != Phase::NoLinearSolution) break;
    y.fill(0.0);
    if (!reduce_violation(problem, options, points, result)) {
      result.outcome = Outcome::Infeasible;
      break;
    }
  }
  result.x = points.now().x;
  result.violation = largest_violation(problem, points.now());
  result.objective = points.now().evaluation.objective;
  result.constraint = points.now().evaluation.constraint;
  result.resistance = points.now().evaluation.resistance;
  if (result.outcome == Outcome::Solved) {
    result.multipliers = y;
  }
  return result;
}

bool is_better(const SolverResult& a, const SolverResult& b);

// Where depth is free, the possible postures may fall into separate groups (half squat, bottom):
// goes down a grid of fixed depths and starts from each possible one as well.
int try_depths(const Problem<double>& problem, const Options& options, Pair& points,
               SolverResult& best) {
  constexpr auto kDrop = static_cast<std::size_t>(Coordinate::ThighDrop);
  Problem<double> fixed = problem;
  fixed.frozen[kDrop] = true;
  fixed.objective.thigh_drop = 0.0;
  int iterations = 0;
  bool have_neighbour = false;
  std::array<double, kCoordinateCount> neighbour{};
  for (double drop = 0.95; drop > -0.99; drop -= drop > 0.0 ? 0.08 : 0.16) {
    fixed.frozen_drop = drop;
    for (int start = have_neighbour ? -1 : 0; start < kColdStarts; ++start) {
      points.now().x = start < 0 ? neighbour : cold_start(fixed, start);
      const SolverResult there = solve_from(fixed, options, points, {});
      iterations += there.iterations;
      have_neighbour = there.outcome == Outcome::Solved;
      if (!have_neighbour) continue;
      neighbour = there.x;
      const SolverResult end = solve_from(problem, options, points, {});
      iterations += end.iterations;
      if (is_better(end, best)) best = end;
      break;
    }
  }
  return iterations;
}

bool is_better(const SolverResult& a, const SolverResult& b) {
  const auto rank = [](Outcome o) {
    return o == Outcome::Solved ? 0 : o == Outcome::Infeasible ? 1 : 2;
  };
  if (rank(a.outcome) != rank(b.outcome)) return rank(a.outcome) < rank(b.outcome);
  return a.outcome == Outcome::Solved ? a.objective < b.objective : a.violation < b.violation;
}

}  // namespace

SolverResult solve_problem(const Problem<double>& problem, const Options& options,
                           const WarmStart* warm) {
  Pair points;
  SolverResult best;
  int total = 0;
  if (warm != nullptr) {
    points.now().x = warm->coordinates;
    best = solve_from(problem, options, points, warm->multipliers);
    if (best.outcome == Outcome::Solved) return best;
    total = best.iterations;
  }
  bool first = warm == nullptr;
  for (int start = 0; start < kColdStarts; ++start) {
    points.now().x = cold_start(problem, start);
    const SolverResult end = solve_from(problem, options, points, {});
    total += end.iterations;
    if (first || is_better(end, best)) best = end;
    first = false;
  }
  if (!problem.frozen[static_cast<std::size_t>(Coordinate::ThighDrop)]) {
    total += try_depths(problem, options, points, best);
  }
  best.iterations = total;
  return best;
}

}  // namespace lintel::posture
