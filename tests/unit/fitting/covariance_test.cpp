#include "fitting/covariance.h"

#include <gtest/gtest.h>

#include <Eigen/Dense>

#include "base/random.h"

namespace lintel::fitting {
namespace {

// Dense matrix of the same system, curve part first.
Eigen::MatrixXd dense(const ArrowSystem& system) {
  const auto groups = static_cast<Eigen::Index>(system.diagonal.size());
  const Eigen::Index curve = groups * kGroupSize;
  Eigen::MatrixXd h = Eigen::MatrixXd::Zero(curve + kBorderSize, curve + kBorderSize);
  for (Eigen::Index i = 0; i < groups; ++i) {
    const auto k = static_cast<std::size_t>(i);
    const Eigen::Index at = i * kGroupSize;
    h.block(at, at, kGroupSize, kGroupSize) = system.diagonal[k];
    h.block(at, curve, kGroupSize, kBorderSize) = system.border[k];
    h.block(curve, at, kBorderSize, kGroupSize) = system.border[k].transpose();
    if (i + 1 < groups) {
      h.block(at + kGroupSize, at, kGroupSize, kGroupSize) = system.below[k];
      h.block(at, at + kGroupSize, kGroupSize, kGroupSize) = system.below[k].transpose();
    }
  }
  h.bottomRightCorner(kBorderSize, kBorderSize) = system.corner;
  return h;
}

ArrowSystem random_system(int control_points, std::uint64_t seed) {
  Random random(seed);
  ArrowSystem system(control_points);
  const auto fill = [&](Eigen::MatrixXd& m, double size) {
    for (Eigen::Index i = 0; i < m.size(); ++i) m.data()[i] += size * random.normal();
  };
  const auto symmetric = [&](Eigen::MatrixXd& m, double diagonal) {
    fill(m, 0.2);
    m = (m + m.transpose()).eval();
    m.diagonal().array() += diagonal;
  };
  for (auto& m : system.diagonal) symmetric(m, 12.0);
  for (auto& m : system.below) fill(m, 0.2);
  for (auto& m : system.border) fill(m, 0.1);
  symmetric(system.corner, 15.0);
  return system;
}

TEST(ArrowCovariance, EqualsThePartsOfTheDenseInverse) {
  const ArrowSystem system = random_system(12, 4);
  const Eigen::MatrixXd inverse = dense(system).inverse();
  const auto covariance = ArrowCovariance::create(system);
  ASSERT_TRUE(covariance.has_value());
  const Eigen::Index curve = 12 * kPoseSize;
  EXPECT_LT((covariance->border() - inverse.bottomRightCorner(kBorderSize, kBorderSize))
                .cwiseAbs()
                .maxCoeff(),
            1e-12);
  const KnotGrid grid = KnotGrid::covering(0.0, 0.9, 0.1);
  for (const double t : {0.03, 0.25, 0.48, 0.9}) {
    const KnotGrid::Weights w = grid.weights(t);
    Eigen::MatrixXd pick = Eigen::MatrixXd::Zero(kPoseSize, curve + kBorderSize);
    for (int k = 0; k < 4; ++k) {
      for (int i = 0; i < kPoseSize; ++i) {
        pick(i, (w.first + k) * kPoseSize + i) = w.value[static_cast<std::size_t>(k)];
      }
    }
    const Eigen::MatrixXd expected = pick * inverse * pick.transpose();
    const Eigen::MatrixXd response = covariance->response(w);
    const Eigen::MatrixXd found =
        covariance->local(w) + response * covariance->border() * response.transpose();
    EXPECT_LT((found - expected).cwiseAbs().maxCoeff(), 1e-12) << t;
  }
}

TEST(ArrowCovariance, RefusesASystemThatIsNotPositiveDefinite) {
  ArrowSystem system = random_system(6, 4);
  system.diagonal[1](3, 3) = -5.0;
  EXPECT_FALSE(ArrowCovariance::create(system).has_value());
}

}  // namespace
}  // namespace lintel::fitting
