// Sequential quadratic programming with the exact Hessian of the Lagrangian, an exact penalty as
// merit, and a search for the least violation where the limits exclude each other
// (Nocedal & Wright, Numerical Optimization, 2nd ed., ch. 18). Fixed size, no allocation.
#pragma once

#include <array>

#include "posture/posture.h"
#include "posture/problem.h"

namespace lintel::posture {

struct SolverResult {
  Outcome outcome = Outcome::IterationLimit;
  std::array<double, kCoordinateCount> x{};
  std::array<double, kLimitCount> multipliers{};
  std::array<double, kLimitCount> constraint{};  // scaled, <= 0 inside the hard stop
  std::array<double, kLimitCount> resistance{};
  double objective = 0.0;
  double kkt_residual = 0.0;
  double violation = 0.0;  // largest, scaled
  int iterations = 0;
};

// With a warm start: from there, and cold only if that does not end in a solution. Cold: from
// several starts, the best end counts (the problem is not convex).
SolverResult solve_problem(const Problem<double>& problem, const Options& options,
                           const WarmStart* warm);

// Values, gradient of the objective, rows of the limits at one point.
struct Point {
  std::array<double, kCoordinateCount> x{};
  Quantities<double> quantities{};
  Evaluation<double> evaluation;
  Vector7 gradient;
  Eigen::Matrix<double, kLimitCount, kCoordinateCount, Eigen::RowMajor> rows;
};
void evaluate_point(const Problem<double>& problem, Point& point);

// Hessian of objective + sum multipliers * constraints, all coordinates.
Matrix7 compute_hessian(const Problem<double>& problem, const Point& point,
                        const std::array<double, kLimitCount>& multipliers,
                        double objective_factor);

}  // namespace lintel::posture
