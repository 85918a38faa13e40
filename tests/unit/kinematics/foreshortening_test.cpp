#include "kinematics/foreshortening.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include <Eigen/Core>
#include <Eigen/Geometry>

#include "base/random.h"
#include "kinematics/sagittal_angles.h"
#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;

struct LegInSpace {
  Eigen::Vector3d hip, knee, ankle;  // X forward, Y up, Z outward
  SideLeg seen() const { return {hip.head<2>(), knee.head<2>(), ankle.head<2>()}; }
};

// Knee outward of the hip by the angle `out` between thigh and sagittal plane.
LegInSpace leg(double thigh_from_vertical, double out, double shank_forward, double shank_in) {
  LegInSpace l;
  l.ankle.setZero();
  l.knee = 0.41 * Eigen::Vector3d(std::sin(shank_forward) * std::cos(shank_in),
                                  std::cos(shank_forward) * std::cos(shank_in), std::sin(shank_in));
  const double rise = std::cos(thigh_from_vertical);
  const double across = std::sin(out);
  const double back = std::sqrt(std::max(0.0, 1 - rise * rise - across * across));
  l.hip = l.knee + 0.42 * Eigen::Vector3d(-back, rise, -across);
  return l;
}
const LegLengths kLengths = {{0.42, 0.01}, {0.41, 0.01}};

TEST(Foreshortening, OfALegInThePlaneIsNone) {
  const Foreshortening f =
      assess_foreshortening(leg(deg(95), 0, deg(35), 0).seen(), kLengths, 0.01);
  EXPECT_FALSE(f.warned);
  EXPECT_NEAR(f.thigh_ratio.value, 1, 1e-9);
  EXPECT_NEAR(f.thigh_sagittal, deg(95), 1e-9);
  EXPECT_NEAR(f.thigh_in_space.value, deg(95), 1e-9);
  EXPECT_NEAR(f.knee_flexion_sagittal, deg(130), 1e-9);
  EXPECT_NEAR(f.knee_flexion_in_space.value, deg(130), 1e-7);
}

TEST(Foreshortening, RecoversTheThighInSpace) {
  for (const double out : {20.0, 45.0, 60.0, 70.0}) {
    const LegInSpace l = leg(deg(104), deg(out), deg(20), deg(12));
    const Foreshortening f = assess_foreshortening(l.seen(), kLengths, 0.002);
    EXPECT_NEAR(f.thigh_out_of_plane.value, deg(out), 1e-6);
    EXPECT_NEAR(f.thigh_in_space.value, deg(104), 1e-6);
    EXPECT_EQ(f.warned, out >= 60) << out;
  }
}

TEST(Foreshortening, RecoversTheKneeFlexionInSpace) {
  const LegLengths sharp = {{0.42, 1e-4}, {0.41, 1e-4}};
  for (const double out : {30.0, 50.0, 70.0}) {
    const LegInSpace l = leg(deg(104), deg(out), deg(20), deg(12));
    const Foreshortening f = assess_foreshortening(l.seen(), sharp, 1e-4);
    EXPECT_NEAR(f.knee_flexion_in_space.value, flexion_at(l.hip, l.knee, l.ankle), 1e-6) << out;
  }
}

// First-order errors against simulated landmark noise.
TEST(Foreshortening, StatesErrorsThatSimulationConfirms) {
  const LegInSpace l = leg(deg(104), deg(55), deg(20), deg(25));
  const double noise = 0.004;
  const Foreshortening f = assess_foreshortening(l.seen(), {{0.42, 1e-6}, {0.41, 1e-6}}, noise);
  Random random(4);
  double in_space = 0, flexion = 0, turn = 0;
  constexpr int kDraws = 4000;
  for (int i = 0; i < kDraws; ++i) {
    SideLeg s = l.seen();
    for (Eigen::Vector2d* p : {&s.p_hip, &s.p_knee, &s.p_ankle}) {
      *p += Eigen::Vector2d(random.normal(0, noise), random.normal(0, noise));
    }
    const Foreshortening g = assess_foreshortening(s, {{0.42, 1e-6}, {0.41, 1e-6}}, noise);
    in_space += std::pow(g.thigh_in_space.value - f.thigh_in_space.value, 2) / kDraws;
    flexion += std::pow(g.knee_flexion_in_space.value - f.knee_flexion_in_space.value, 2) / kDraws;
    turn += std::pow(g.thigh_out_of_plane.value - f.thigh_out_of_plane.value, 2) / kDraws;
  }
  EXPECT_NEAR(std::sqrt(in_space) / f.thigh_in_space.standard_error, 1, 0.1);
  EXPECT_NEAR(std::sqrt(flexion) / f.knee_flexion_in_space.standard_error, 1, 0.15);
  EXPECT_NEAR(std::sqrt(turn) / f.thigh_out_of_plane.standard_error, 1, 0.15);
}

TEST(Foreshortening, WarningNamesTheNumbers) {
  const Foreshortening f =
      assess_foreshortening(leg(deg(106), deg(70), deg(10), deg(5)).seen(), kLengths, 0.01);
  const auto warning = foreshortening_warning(f);
  ASSERT_TRUE(warning.has_value());
  EXPECT_NE(warning->message.find("106"), std::string::npos) << warning->message;
  EXPECT_NE(warning->message.find("70"), std::string::npos) << warning->message;
  EXPECT_FALSE(warning->advice.empty());
  EXPECT_FALSE(foreshortening_warning(Foreshortening{}).has_value());
}

TEST(LegLengths, ComeFromStandingOrFromTheBody) {
  std::vector<SideLeg> standing;
  for (int i = 0; i < 20; ++i) standing.push_back(leg(deg(2 + 0.1 * i), 0, deg(4), 0).seen());
  const LegLengths l = leg_lengths_from_standing(standing);
  EXPECT_NEAR(l.thigh.value, 0.42, 1e-3);
  EXPECT_NEAR(l.shank.value, 0.41, 1e-3);
  EXPECT_GT(l.thigh.standard_error, 0.005);
  const LegLengths b = leg_lengths_from_body({0.42, 0.01}, {0.41, 0.01}, {300, 6});
  EXPECT_NEAR(b.thigh.value, 126, 1e-9);
  EXPECT_NEAR(b.thigh.standard_error, std::hypot(3.0, 2.52), 1e-9);
}

TEST(Foreshortening, OfUnusableInputIsSilent) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  SideLeg broken = leg(deg(90), 0, 0, 0).seen();
  broken.p_knee.x() = nan;
  EXPECT_FALSE(assess_foreshortening(broken, kLengths, 0.01).warned);
  EXPECT_FALSE(assess_foreshortening(leg(deg(90), 0, 0, 0).seen(), {}, 0.01).warned);
  EXPECT_EQ(leg_lengths_from_standing({}).thigh.value, 0);
  const SideLeg one_point{{1, 1}, {1, 1}, {1, 1}};
  EXPECT_TRUE(std::isfinite(assess_foreshortening(one_point, kLengths, 0.01).thigh_in_space.value));
}

}  // namespace
}  // namespace lintel::kinematics
