#include "fitting/covariance.h"

#include <Eigen/Cholesky>

namespace lintel::fitting {

ArrowSystem::ArrowSystem(int control_points)
    : corner(Eigen::MatrixXd::Zero(kBorderSize, kBorderSize)) {
  const int groups = (control_points + kGroupKnots - 1) / kGroupKnots;
  for (int i = 0; i < groups; ++i) {
    diagonal.emplace_back(Eigen::MatrixXd::Zero(kGroupSize, kGroupSize));
    border.emplace_back(Eigen::MatrixXd::Zero(kGroupSize, kBorderSize));
    if (i + 1 < groups) below.emplace_back(Eigen::MatrixXd::Zero(kGroupSize, kGroupSize));
  }
  // Control points that do not exist: unknowns without influence.
  const int used = control_points * kPoseSize;
  for (int row = used; row < groups * kGroupSize; ++row) {
    diagonal.back()(row % kGroupSize, row % kGroupSize) = 1.0;
  }
}

std::optional<ArrowCovariance> ArrowCovariance::create(const ArrowSystem& system,
                                                       const Eigen::MatrixXd* border_covariance) {
  const std::size_t groups = system.diagonal.size();
  std::vector<Eigen::LLT<Eigen::MatrixXd>> pivots(groups);
  std::vector<Eigen::MatrixXd> right = system.border;
  for (std::size_t i = 0; i < groups; ++i) {
    Eigen::MatrixXd pivot = system.diagonal[i];
    if (i > 0) {
      const Eigen::MatrixXd carry = pivots[i - 1].solve(system.below[i - 1].transpose());
      pivot -= system.below[i - 1] * carry;
      right[i] -= carry.transpose() * right[i - 1];
    }
    pivots[i].compute(pivot);
    if (pivots[i].info() != Eigen::Success) return std::nullopt;
  }
  ArrowCovariance out;
  out.response_.resize(groups);
  out.diagonal_.resize(groups);
  out.below_.resize(groups > 0 ? groups - 1 : 0);
  const Eigen::MatrixXd identity = Eigen::MatrixXd::Identity(kGroupSize, kGroupSize);
  for (std::size_t j = groups; j-- > 0;) {
    Eigen::MatrixXd rest = right[j];
    out.diagonal_[j] = pivots[j].solve(identity);
    if (j + 1 < groups) {
      // response_ already carries the minus sign: A^-1 B = -response.
      rest += system.below[j].transpose() * out.response_[j + 1];
      const Eigen::MatrixXd gain = pivots[j].solve(system.below[j].transpose());
      out.below_[j] = -out.diagonal_[j + 1] * gain.transpose();
      out.diagonal_[j] += gain * out.diagonal_[j + 1] * gain.transpose();
    }
    out.response_[j] = -pivots[j].solve(rest);
  }
  if (border_covariance) {
    out.border_ = *border_covariance;
    return out;
  }
  Eigen::MatrixXd schur = system.corner;
  for (std::size_t i = 0; i < groups; ++i) {
    schur += system.border[i].transpose() * out.response_[i];
  }
  schur = (0.5 * (schur + schur.transpose())).eval();
  const Eigen::LLT<Eigen::MatrixXd> factor(schur);
  if (factor.info() != Eigen::Success) return std::nullopt;
  out.border_ = factor.solve(Eigen::MatrixXd::Identity(kBorderSize, kBorderSize));
  return out;
}

Eigen::Matrix<double, kPoseSize, kPoseSize> ArrowCovariance::local(
    const KnotGrid::Weights& weights) const {
  Eigen::Matrix<double, kPoseSize, kPoseSize> sum =
      Eigen::Matrix<double, kPoseSize, kPoseSize>::Zero();
  for (int a = 0; a < 4; ++a) {
    for (int b = 0; b < 4; ++b) {
      const int i = weights.first + a, j = weights.first + b;
      const int gi = i / kGroupKnots, gj = j / kGroupKnots;
      const int ri = (i % kGroupKnots) * kPoseSize, rj = (j % kGroupKnots) * kPoseSize;
      const double w =
          weights.value[static_cast<std::size_t>(a)] * weights.value[static_cast<std::size_t>(b)];
      if (gi == gj) {
        sum += w * diagonal_[static_cast<std::size_t>(gi)].block<kPoseSize, kPoseSize>(ri, rj);
      } else if (gi > gj) {
        sum += w * below_[static_cast<std::size_t>(gj)].block<kPoseSize, kPoseSize>(ri, rj);
      } else {
        sum += w *
               below_[static_cast<std::size_t>(gi)].block<kPoseSize, kPoseSize>(rj, ri).transpose();
      }
    }
  }
  return sum;
}

Eigen::Matrix<double, kPoseSize, kBorderSize> ArrowCovariance::response(
    const KnotGrid::Weights& weights) const {
  Eigen::Matrix<double, kPoseSize, kBorderSize> sum =
      Eigen::Matrix<double, kPoseSize, kBorderSize>::Zero();
  for (int a = 0; a < 4; ++a) {
    const int i = weights.first + a;
    sum += weights.value[static_cast<std::size_t>(a)] *
           response_[static_cast<std::size_t>(i / kGroupKnots)].block<kPoseSize, kBorderSize>(
               (i % kGroupKnots) * kPoseSize, 0);
  }
  return sum;
}

}  // namespace lintel::fitting
