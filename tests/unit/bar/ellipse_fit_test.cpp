#include "bar/ellipse_fit.h"

#include <cmath>
#include <numbers>
#include <vector>

#include <gtest/gtest.h>
#include <opencv2/imgproc.hpp>

#include "base/random.h"

namespace lintel::bar {
namespace {

// Points by the textbook parametric form, not by Ellipse::shape.
std::vector<RimPoint> points_on(double cx, double cy, double a, double b, double angle, int count,
                                double noise, Random& random, double share = 1) {
  std::vector<RimPoint> points;
  for (int i = 0; i < count; ++i) {
    const double t = share * 2 * std::numbers::pi * i / count;
    const double u = a * std::cos(t), v = b * std::sin(t);
    points.push_back({{cx + u * std::cos(angle) - v * std::sin(angle) + noise * random.normal(),
                       cy + u * std::sin(angle) + v * std::cos(angle) + noise * random.normal()},
                      1});
  }
  return points;
}

TEST(EllipseFit, RecoversAnExactEllipse) {
  Random random(1);
  const auto points = points_on(200.3, 150.7, 110, 100, 0.7, 90, 0, random);
  const EllipseFit fit =
      fit_ellipse(points, circle({205, 148}, 100), ShapePrior{circle({0, 0}, 100)});
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.ellipse.center_px.x(), 200.3, 1e-6);
  EXPECT_NEAR(fit.ellipse.center_px.y(), 150.7, 1e-6);
  EXPECT_NEAR(fit.ellipse.semi_major_px(), 110, 1e-6);
  EXPECT_NEAR(fit.ellipse.semi_minor_px(), 100, 1e-6);
  EXPECT_NEAR(fit.ellipse.major_axis_angle(), 0.7, 1e-6);
}

TEST(EllipseFit, AgreesWithTheDirectFitOfOpenCvOnNoisyPoints) {
  // Fitzgibbon's direct method as a second voice; it is slightly biased, hence the tolerance.
  Random random(2);
  const auto points = points_on(300, 300, 108, 101, -0.3, 160, 0.4, random);
  std::vector<cv::Point2f> cv_points;
  for (const RimPoint& p : points)
    cv_points.emplace_back(static_cast<float>(p.position_px.x()),
                           static_cast<float>(p.position_px.y()));
  const cv::RotatedRect other = cv::fitEllipseDirect(cv_points);
  const EllipseFit fit =
      fit_ellipse(points, circle({303, 298}, 104), ShapePrior{circle({0, 0}, 104)});
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.ellipse.center_px.x(), other.center.x, 0.05);
  EXPECT_NEAR(fit.ellipse.center_px.y(), other.center.y, 0.05);
  EXPECT_NEAR(fit.ellipse.semi_major_px(), 0.5 * std::max(other.size.width, other.size.height),
              0.08);
  EXPECT_NEAR(fit.ellipse.semi_minor_px(), 0.5 * std::min(other.size.width, other.size.height),
              0.08);
}

TEST(EllipseFit, IgnoresAThirdOfOutliers) {
  Random random(3);
  auto points = points_on(100, 100, 60, 60, 0, 90, 0.1, random);
  for (std::size_t i = 0; i < points.size(); i += 3)
    points[i].position_px.y() += random.uniform(4, 12);
  const EllipseFit fit = fit_ellipse(points, circle({102, 99}, 58), ShapePrior{circle({0, 0}, 58)});
  ASSERT_TRUE(fit.converged);
  EXPECT_NEAR(fit.ellipse.center_px.x(), 100, 0.1);
  EXPECT_NEAR(fit.ellipse.center_px.y(), 100, 0.1);
  EXPECT_NEAR(fit.ellipse.mean_radius_px, 60, 0.1);
}

TEST(EllipseFit, StandardErrorsMatchTheScatterOfRepeatedFits) {
  Random random(4);
  double square = 0, stated = 0, radius_square = 0, radius_stated = 0;
  constexpr int kTrials = 300;
  for (int trial = 0; trial < kTrials; ++trial) {
    const auto points = points_on(200, 200, 100, 96, 0.2, 80, 0.3, random);
    const EllipseFit fit =
        fit_ellipse(points, circle({200, 200}, 98), ShapePrior{circle({0, 0}, 98)});
    ASSERT_TRUE(fit.converged);
    square += (fit.ellipse.center_px.x() - 200) * (fit.ellipse.center_px.x() - 200) / kTrials;
    stated += fit.covariance(0, 0) / kTrials;
    radius_square +=
        (fit.ellipse.mean_radius_px - 98) * (fit.ellipse.mean_radius_px - 98) / kTrials;
    radius_stated += fit.covariance(2, 2) / kTrials;
  }
  // Within 25 % and never hopeful by more than 10 %: the correlation term only widens.
  EXPECT_GT(stated / square, 0.8);
  EXPECT_LT(stated / square, 1.6);
  EXPECT_GT(radius_stated / radius_square, 0.8);
  EXPECT_LT(radius_stated / radius_square, 1.6);
}

TEST(EllipseFit, PriorHoldsTheShapeOfAHalfSeenRim) {
  Random random(5);
  const auto points = points_on(100, 100, 60, 60, 0, 40, 0.3, random, 0.3);
  ShapePrior prior{circle({0, 0}, 60), 0.3, 0.3};
  const EllipseFit held = fit_ellipse(points, circle({101, 99}, 60), prior);
  ASSERT_TRUE(held.converged);
  EXPECT_NEAR(held.ellipse.mean_radius_px, 60, 0.6);
  EXPECT_LT((held.ellipse.center_px - Eigen::Vector2d(100, 100)).norm(), 1.0);
}

TEST(EllipseFit, SaysNoToTooFewOrDegeneratePoints) {
  const std::vector<RimPoint> few(5, RimPoint{{1, 2}, 1});
  EXPECT_FALSE(fit_ellipse(few, circle({0, 0}, 10), ShapePrior{circle({0, 0}, 10)}).converged);
  EXPECT_FALSE(fit_ellipse({}, circle({0, 0}, 10), ShapePrior{circle({0, 0}, 10)}).converged);
  const std::vector<RimPoint> line = [] {
    std::vector<RimPoint> p;
    for (int i = 0; i < 20; ++i) p.push_back({{10.0 * i, 0}, 1});
    return p;
  }();
  const EllipseFit fit = fit_ellipse(line, circle({100, 50}, 50), ShapePrior{circle({0, 0}, 50)});
  EXPECT_TRUE(!fit.converged || fit.covariance.allFinite());
}

}  // namespace
}  // namespace lintel::bar
