// Covariance of curves and globals from the normal equations, in time linear in the clip.
#pragma once

#include <optional>
#include <vector>

#include <Eigen/Core>

#include "fitting/parameters.h"

namespace lintel::fitting {

// Control points in groups of three couple only to the next group, because a frame touches four
// neighbouring control points; everything else sits in the border (globals, offsets).
inline constexpr int kGroupKnots = 3;
inline constexpr int kGroupSize = kGroupKnots * kPoseSize;
inline constexpr int kBorderSize = kGlobalSize + kInstanceCount * kOffsetSize;
constexpr int offset_column(int instance) {
  return kGlobalSize + instance * kOffsetSize;
}

// H = J^T J, with J the Jacobian of the weighted residuals.
struct ArrowSystem {
  explicit ArrowSystem(int control_points);
  std::vector<Eigen::MatrixXd> diagonal;  // per group (kGroupSize x kGroupSize)
  std::vector<Eigen::MatrixXd> below;     // block (i + 1, i)
  std::vector<Eigen::MatrixXd> border;    // per group (kGroupSize x kBorderSize)
  Eigen::MatrixXd corner;                 // (kBorderSize x kBorderSize)
};

// Parts of H^-1. Block elimination with selected inversion (Takahashi, Fagan, Chen 1973).
class ArrowCovariance {
 public:
  // Without `border_covariance` that of the system itself (Schur complement) is used; with it,
  // the border is taken as estimated elsewhere. Empty when H is not positive definite.
  static std::optional<ArrowCovariance> create(const ArrowSystem& system,
                                               const Eigen::MatrixXd* border_covariance = nullptr);

  const Eigen::MatrixXd& border() const { return border_; }
  // Covariance of the pose at these weights with the border held, (kPoseSize x kPoseSize), and the
  // pose's response to the border, d pose / d border (kPoseSize x kBorderSize).
  Eigen::Matrix<double, kPoseSize, kPoseSize> local(const KnotGrid::Weights& weights) const;
  Eigen::Matrix<double, kPoseSize, kBorderSize> response(const KnotGrid::Weights& weights) const;

 private:
  std::vector<Eigen::MatrixXd> diagonal_;  // of A^-1
  std::vector<Eigen::MatrixXd> below_;
  std::vector<Eigen::MatrixXd> response_;  // -A^-1 B
  Eigen::MatrixXd border_;
};

}  // namespace lintel::fitting
