#include "posture/limits.h"

#include <numbers>

#include <gtest/gtest.h>

#include "body/anthropometry.h"
#include "body/knee_to_wall.h"

namespace lintel::posture {
namespace {

using body::MobilityTest;

body::Athlete ordinary() {
  body::Athlete a;
  a.sex = body::Sex::Female;
  a.stature = 1.66;
  a.body_mass = 62.0;
  return a;
}

TEST(LimitsFromTests, UntestedIsAverageWithThePopulationsSpread) {
  const body::Athlete a = ordinary();
  const auto lengths = body::estimate_segments(a.sex, a.stature).value();
  const auto limits = limits_from_tests(a, lengths);
  ASSERT_TRUE(limits);
  // Calatayud et al. 2015: 40.6 +/- 5.2 degrees in the weight-bearing lunge.
  const auto ankle = static_cast<std::size_t>(Limit::AnkleDorsiflexion);
  EXPECT_NEAR(limits->limits.edges[ankle].edge * kDegreesPerRadian, 40.6, 1e-9);
  EXPECT_NEAR(limits->standard_error[ankle] * kDegreesPerRadian, 5.2, 1e-9);
  EXPECT_EQ(limits->source[ankle], LimitSource::Default);
}

TEST(LimitsFromTests, TheWorseSideCountsAndBothAreKept) {
  body::Athlete a = ordinary();
  a.tests[MobilityTest::AnkleDorsiflexion] = {Estimate{0.60, 0.02}, Estimate{0.50, 0.03}};
  const auto lengths = body::estimate_segments(a.sex, a.stature).value();
  const auto limits = limits_from_tests(a, lengths).value();
  EXPECT_DOUBLE_EQ(limits.limits[Limit::AnkleDorsiflexion].edge, 0.50);
  EXPECT_DOUBLE_EQ(limits.side[0][Limit::AnkleDorsiflexion].edge, 0.60);
  EXPECT_DOUBLE_EQ(limits.side[1][Limit::AnkleDorsiflexion].edge, 0.50);
  EXPECT_DOUBLE_EQ(limits.standard_error[0], 0.03);
}

TEST(LimitsFromTests, DistancesBecomeAnglesAndAnglesWin) {
  body::Athlete a = ordinary();
  a.tests[MobilityTest::KneeToWall] = {Estimate{0.10, 0.0}, std::nullopt};
  const auto lengths = body::estimate_segments(a.sex, a.stature).value();
  const auto from_distance = limits_from_tests(a, lengths).value();
  const auto angle = body::dorsiflexion_from_knee_to_wall({0.10, 0.006}, lengths).value();
  EXPECT_NEAR(from_distance.limits[Limit::AnkleDorsiflexion].edge, angle.value, 1e-12);
  EXPECT_NEAR(from_distance.standard_error[0], angle.standard_error, 1e-12);
  EXPECT_EQ(from_distance.source[0], LimitSource::Derived);
  a.tests[MobilityTest::AnkleDorsiflexion] = {Estimate{0.55, 0.0}, std::nullopt};
  EXPECT_DOUBLE_EQ(limits_from_tests(a, lengths)->limits[Limit::AnkleDorsiflexion].edge, 0.55);
}

TEST(LimitsFromTests, WallTestsSeparateShoulderAndLatissimus) {
  body::Athlete a = ordinary();
  a.tests[MobilityTest::ArmToWallTurnedIn] = {Estimate{0.10, 0.0}, std::nullopt};
  a.tests[MobilityTest::ArmToWallTurnedOut] = {Estimate{0.25, 0.0}, std::nullopt};
  const auto lengths = body::estimate_segments(a.sex, a.stature).value();
  const auto limits = limits_from_tests(a, lengths).value().limits;
  EXPECT_NEAR(limits[Limit::ShoulderElevation].edge, std::numbers::pi - 0.10, 1e-12);
  EXPECT_NEAR(limits[Limit::LatissimusLength].edge, std::numbers::pi - 0.25, 1e-12);
}

TEST(LimitsFromTests, RefusesAnAnkleOf300Degrees) {
  body::Athlete a = ordinary();
  a.tests[MobilityTest::AnkleDorsiflexion][0] = Estimate{300.0 * kRadiansPerDegree, 0.0};
  const auto lengths = body::estimate_segments(a.sex, a.stature).value();
  const auto limits = limits_from_tests(a, lengths);
  ASSERT_FALSE(limits);
  EXPECT_EQ(limits.error().place.field, "tests.ankle_dorsiflexion.left");
}

TEST(Limits, EveryLimitHasAName) {
  for (int i = 0; i < kLimitCount; ++i) EXPECT_FALSE(limit_name(static_cast<Limit>(i)).empty());
}

}  // namespace
}  // namespace lintel::posture
