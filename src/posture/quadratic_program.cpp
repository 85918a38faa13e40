#include "posture/quadratic_program.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>

namespace lintel::posture {
namespace {

constexpr int kMost = kCoordinateCount;  // independent active rows
using Gram = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, kMost, kMost>;
using Column = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, kMost, 1>;

// The rows in the working set, with B^-1 a of each.
struct WorkingSet {
  int count = 0;
  std::array<int, kMost> index{};
  std::array<double, kMost> multiplier{};
  std::array<Vector7, kMost> solved;  // B^-1 a_i

  void remove(int at) {
    for (int i = at; i + 1 < count; ++i) {
      const auto u = static_cast<std::size_t>(i);
      index[u] = index[u + 1];
      multiplier[u] = multiplier[u + 1];
      solved[u] = solved[u + 1];
    }
    --count;
  }
};

// Multiplier change of the working set per unit of the new row's multiplier.
Column dual_direction(const WorkingSet& set, const LimitRows& rows, const Vector7& new_solved) {
  Gram gram(set.count, set.count);
  Column right(set.count);
  for (int i = 0; i < set.count; ++i) {
    const auto row = rows.row(set.index[static_cast<std::size_t>(i)]);
    right(i) = row.dot(new_solved);
    for (int j = 0; j < set.count; ++j) {
      gram(i, j) = row.dot(set.solved[static_cast<std::size_t>(j)]);
    }
  }
  return gram.ldlt().solve(right);
}

// The most violated row outside of the working set, -1 if none is.
int most_violated(const WorkingSet& set, const LimitRows& rows, const Vector7& step,
                  const std::array<double, kLimitCount>& room,
                  const std::array<bool, kLimitCount>& active) {
  int worst = -1;
  double violation = 1e-13;
  for (int i = 0; i < kLimitCount; ++i) {
    const auto u = static_cast<std::size_t>(i);
    if (!active[u]) continue;
    const double v = rows.row(i).dot(step) - room[u];
    if (v <= violation) continue;
    const auto end = set.index.begin() + set.count;
    if (std::find(set.index.begin(), end, i) != end) continue;  // held already: rounding only
    violation = v;
    worst = i;
  }
  return worst;
}

// Brings one violated row into the working set; others may have to leave. False if no step
// satisfies it together with those that cannot leave.
bool add_row(int added, const Matrix7& inverse, const LimitRows& rows,
             const std::array<double, kLimitCount>& room, WorkingSet& set, Vector7& step) {
  const Vector7 row = rows.row(added).transpose();
  const Vector7 solved = inverse * row;
  double multiplier = 0.0;
  for (int inner = 0; inner <= kLimitCount; ++inner) {
    const Column direction = dual_direction(set, rows, solved);
    Vector7 primal = solved;
    for (int i = 0; i < set.count; ++i) {
      primal -= direction(i) * set.solved[static_cast<std::size_t>(i)];
    }
    const double curvature = row.dot(primal);
    const bool independent = curvature > 1e-12 * row.dot(solved) && set.count < kMost;
    double length = std::numeric_limits<double>::infinity();
    if (independent) length = (row.dot(step) - room[static_cast<std::size_t>(added)]) / curvature;
    int leaving = -1;
    for (int i = 0; i < set.count; ++i) {
      if (direction(i) <= 1e-14) continue;
      const double ratio = set.multiplier[static_cast<std::size_t>(i)] / direction(i);
      if (ratio < length) {
        length = ratio;
        leaving = i;
      }
    }
    if (!std::isfinite(length)) return false;
    for (int i = 0; i < set.count; ++i) {
      set.multiplier[static_cast<std::size_t>(i)] -= length * direction(i);
    }
    multiplier += length;
    if (independent) step -= length * primal;
    if (leaving < 0) {
      const auto u = static_cast<std::size_t>(set.count++);
      set.index[u] = added;
      set.multiplier[u] = multiplier;
      set.solved[u] = solved;
      return true;
    }
    set.remove(leaving);
  }
  return false;
}

}  // namespace

QuadraticProgramResult solve_quadratic_program(const Matrix7& inverse, const Vector7& gradient,
                                               const LimitRows& rows,
                                               const std::array<double, kLimitCount>& room,
                                               const std::array<bool, kLimitCount>& active) {
  QuadraticProgramResult result;
  result.step.noalias() = -(inverse * gradient);
  WorkingSet set;
  for (int round = 0; round < 8 * kLimitCount; ++round) {
    const int added = most_violated(set, rows, result.step, room, active);
    if (added < 0) {
      result.feasible = true;
      for (int i = 0; i < set.count; ++i) {
        const auto u = static_cast<std::size_t>(i);
        result.multipliers[static_cast<std::size_t>(set.index[u])] = set.multiplier[u];
      }
      return result;
    }
    if (!add_row(added, inverse, rows, room, set, result.step)) return result;
  }
  return result;
}

}  // namespace lintel::posture
