// A tiny convex quadratic program, dense and of fixed size, by the dual active-set method of
// Goldfarb & Idnani (Mathematical Programming 27, 1983). No allocation.
#pragma once

#include <array>
#include <cstdint>

#include "posture/problem.h"

namespace lintel::posture {

using LimitRows = Eigen::Matrix<double, kLimitCount, kCoordinateCount, Eigen::RowMajor>;

struct QuadraticProgramResult {
  bool feasible = false;
  Vector7 step = Vector7::Zero();
  std::array<double, kLimitCount> multipliers{};
};

// min 1/2 d' B d + g' d  subject to  rows(i) d <= room[i] where active[i].
// inverse: of B, which is symmetric positive definite.
QuadraticProgramResult solve_quadratic_program(const Matrix7& inverse, const Vector7& gradient,
                                               const LimitRows& rows,
                                               const std::array<double, kLimitCount>& room,
                                               const std::array<bool, kLimitCount>& active);

}  // namespace lintel::posture
