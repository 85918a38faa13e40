#include "bar/disc_geometry.h"

#include <cmath>

#include <gtest/gtest.h>

#include "bar/disc_search.h"
#include "bar/rim.h"
#include "unit/bar/scene.h"

namespace lintel::bar {
namespace {

kinematics::DiscObservation seen(double major, double minor, double angle, double error) {
  kinematics::DiscObservation disc;
  disc.semi_major_px = static_cast<float>(major);
  disc.semi_minor_px = static_cast<float>(minor);
  disc.major_axis_angle = static_cast<float>(angle);
  disc.semi_axis_standard_error_px = static_cast<float>(error);
  return disc;
}

TEST(YawFromAxisRatio, IsTheArcCosineWhenTheMajorAxisIsUpright) {
  for (const double degrees : {5.0, 10.0, 20.0, 30.0}) {
    const double yaw = degrees * kRadiansPerDegree;
    const Estimate e =
        yaw_from_axis_ratio(seen(100, 100 * std::cos(yaw), std::numbers::pi / 2, 0.05));
    EXPECT_NEAR(e.value, yaw, 1e-4);
    // First-order error away from the singular point: d yaw = d ratio / sin(yaw).
    EXPECT_NEAR(e.standard_error, std::sqrt(2.0) * 0.05 / 100 / std::sin(yaw),
                0.1 * e.standard_error);
  }
}

TEST(YawFromAxisRatio, IsZeroWithAWideErrorForARoundDisc) {
  const Estimate e = yaw_from_axis_ratio(seen(100, 100, 0.3, 0.1));
  EXPECT_EQ(e.value, 0);
  EXPECT_NEAR(e.standard_error, std::acos(1 - std::sqrt(2.0) * 0.001), 1e-4);  // 3 degrees
}

TEST(YawFromAxisRatio, TakesNoTurnFromADiscSquashedUpright) {
  EXPECT_EQ(yaw_from_axis_ratio(seen(100, 95, 0, 0.05)).value, 0);  // tilted, not turned
}

TEST(YawFromAxisRatio, RejectsNonsenseWithTheWidestError) {
  EXPECT_GT(yaw_from_axis_ratio(seen(0, 0, 0, 0)).standard_error, 1.5);
}

constexpr double kFocal = 2280;
constexpr double kRadius = 0.225;
const Eigen::Vector2d kPrincipal(360, 640);

TEST(YawFromDiscPair, RecoversTheSignedTurnOfAPinholeCamera) {
  for (const double degrees : {-20.0, -4.0, 0.0, 7.0, 20.0}) {
    const double yaw = degrees * kRadiansPerDegree;
    const Eigen::Vector3d n_C(std::sin(yaw), 0, std::cos(yaw));
    const Eigen::Vector3d p_near_C(-0.2, -0.6, 4.75);
    const auto project = [&](const Eigen::Vector3d& p) {
      kinematics::DiscObservation disc;
      disc.center_px = (kPrincipal + kFocal * p.head<2>() / p.z()).cast<float>();
      disc.semi_major_px = static_cast<float>(kFocal * kRadius / p.z());
      disc.center_standard_error_px = 0.1F;
      disc.semi_axis_standard_error_px = 0.1F;
      return disc;
    };
    const auto e = yaw_from_disc_pair(project(p_near_C), project(p_near_C + 1.31 * n_C),
                                      kPrincipal.x(), kRadius, 1.31);
    ASSERT_TRUE(e);
    EXPECT_NEAR(e->value, yaw, 1e-5);
    EXPECT_GT(e->standard_error, 0);
    EXPECT_LT(e->standard_error, 0.5 * kRadiansPerDegree);
  }
}

TEST(YawFromDiscPair, SaysNoWhenTheDiscsAreFurtherApartThanTheBarIsLong) {
  auto near_disc = seen(100, 100, 0, 0.1), far_disc = seen(90, 90, 0, 0.1);
  far_disc.center_px.x() = 1000;
  EXPECT_FALSE(yaw_from_disc_pair(near_disc, far_disc, 0, kRadius, 1.31));
  EXPECT_FALSE(yaw_from_disc_pair(near_disc, seen(0, 0, 0, 0), 0, kRadius, 1.31));
}

// The formula against a picture made by intersecting viewing rays with the disc.
TEST(CenterCorrection, MatchesARayTracedDisc) {
  struct Case {
    Eigen::Vector3d p, n;
  };
  const double t = 20 * kRadiansPerDegree, u = 40 * kRadiansPerDegree;
  for (const Case& c : {Case{{0.1, -0.2, 2.0}, {std::sin(t), 0, std::cos(t)}},
                        Case{{-0.3, 0.25, 1.6}, {-std::sin(u), 0, std::cos(u)}},
                        Case{{0.2, 0.3, 1.8}, {0, 0, 1}}}) {
    const double focal = 700;
    const Image image = bar_test::render_pinhole_disc(600, 600, focal, c.p, c.n, kRadius);
    const Eigen::Vector2d middle(300, 300);
    const PinholeDisc disc{c.p, c.n, kRadius};
    const Eigen::Vector2d expected = ellipse_center_px(disc, focal, middle);
    Ellipse start = circle(expected, focal * kRadius / c.p.z());
    start.stretch_x_px = -0.5 * (1 - c.n.z()) * start.mean_radius_px;
    start.mean_radius_px += start.stretch_x_px;
    RimOptions options;
    options.window_share = 0.15;
    options.prior.mean = start;
    options.prior.stretch_spread_px = 20;
    const auto rim = refine_rim(image, start, options);
    ASSERT_TRUE(rim);
    EXPECT_LT((rim->ellipse.center_px - expected).norm(), 0.02);
    const Eigen::Vector2d truth = projected_center_px(disc, focal, middle);
    const Eigen::Vector2d corrected =
        rim->ellipse.center_px + center_correction_px(to_observation(*rim),
                                                      std::atan2(c.n.x(), c.n.z()), kRadius, focal,
                                                      middle);
    if (c.n.z() < 0.999) {
      EXPECT_GT((rim->ellipse.center_px - truth).norm(), 2.0);  // there is something to correct
    }
    EXPECT_LT((corrected - truth).norm(), 0.1 * (rim->ellipse.center_px - truth).norm() + 0.03);
  }
}

TEST(CenterCorrection, IsAPixelAndAHalfAtTwentyDegreesInTheGym) {
  auto disc = seen(kFocal * kRadius / 4.75, 100, std::numbers::pi / 2, 0.1);
  disc.center_px = kPrincipal.cast<float>();
  const Eigen::Vector2d shift =
      center_correction_px(disc, 20 * kRadiansPerDegree, kRadius, kFocal, kPrincipal);
  // By hand: f r^2 sin cos / Z^2 = 2280 * 0.0506 * 0.321 / 22.6 = 1.64 px.
  EXPECT_NEAR(shift.x(), -1.64, 0.03);
  EXPECT_NEAR(shift.y(), 0, 1e-6);
}

}  // namespace
}  // namespace lintel::bar
