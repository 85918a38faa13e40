#include "kinematics/sagittal_angles.h"

#include <gtest/gtest.h>

#include <Eigen/Core>
#include <unsupported/Eigen/AutoDiff>

#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;
using P = Eigen::Vector2d;

P along(double inclination) {
  return {std::sin(inclination), std::cos(inclination)};
}

TEST(SegmentInclinations, ArePositiveInTheDirectionThatTheirNamesSay) {
  EXPECT_NEAR(trunk_inclination<double>(P(0, 0), P(0.2, 0.2)), deg(45), 1e-12);
  EXPECT_NEAR(shank_inclination<double>(P(0, 0), P(-0.1, 0.1)), deg(-45), 1e-12);
  EXPECT_NEAR(thigh_inclination<double>(P(0, 0), P(-0.4, 0.0)), deg(90), 1e-12);  // level
  EXPECT_NEAR(thigh_inclination<double>(P(0, 0), P(-0.4, -0.1)), deg(90) + std::atan(0.25), 1e-12);
  EXPECT_NEAR(foot_inclination<double>(P(0, 0.05), P(0.2, 0)), std::atan(0.25), 1e-12);
  EXPECT_NEAR(arm_inclination<double>(P(0, 0), P(0, 0.6)), 0, 1e-12);          // overhead
  EXPECT_NEAR(arm_inclination<double>(P(0, 0), P(0.6, 0)), deg(90), 1e-12);    // in front
  EXPECT_NEAR(arm_inclination<double>(P(0, 0), P(0, -0.6)), deg(180), 1e-12);  // hanging
}

TEST(ArmInclination, DoesNotJumpWhileTheArmHangsAndSwings) {
  EXPECT_NEAR(arm_inclination<double>(P(0, 0), P(0.1, -0.6)) * 180 / std::numbers::pi, 170.54,
              0.01);
  EXPECT_NEAR(arm_inclination<double>(P(0, 0), P(-0.1, -0.6)) * 180 / std::numbers::pi, 189.46,
              0.01);
}

TEST(JointAngles, FollowFromInclinations) {
  // Standing with the arms overhead: all zero, elevation half a turn.
  EXPECT_EQ(knee_flexion(0.0, 0.0), 0.0);
  EXPECT_EQ(hip_flexion(0.0, 0.0), 0.0);
  EXPECT_NEAR(shoulder_elevation(0.0, 0.0), std::numbers::pi, 1e-12);
  EXPECT_NEAR(shoulder_elevation(0.0, std::numbers::pi), 0.0, 1e-12);  // arms hanging
  // Leaning trunk under a vertical arm: the arm is behind the trunk line.
  EXPECT_NEAR(shoulder_elevation(deg(30), 0.0), deg(210), 1e-12);
  EXPECT_NEAR(ankle_dorsiflexion(deg(35), deg(5)), deg(30), 1e-12);
}

TEST(JointAngles, EqualTheAnglesBetweenTheSegments) {
  const P ankle(0, 0), knee = ankle + 0.4 * along(deg(35)), hip = knee + 0.4 * along(-deg(95)),
                       shoulder = hip + 0.5 * along(deg(40)),
                       hand = shoulder + 0.6 * along(deg(-3));
  const double shank = shank_inclination<double>(ankle, knee);
  const double thigh = thigh_inclination<double>(knee, hip);
  const double trunk = trunk_inclination<double>(hip, shoulder);
  const double arm = arm_inclination<double>(shoulder, hand);
  EXPECT_NEAR(knee_flexion(thigh, shank), flexion_at(hip, knee, ankle), 1e-12);
  EXPECT_NEAR(hip_flexion(trunk, thigh), flexion_at(shoulder, hip, knee), 1e-12);
  // Elevation beyond half a turn: flexion_at is unsigned.
  EXPECT_NEAR(shoulder_elevation(trunk, arm), std::numbers::pi + flexion_at(hip, shoulder, hand),
              1e-12);
}

TEST(ElbowFlexion, IsZeroForAStraightArmAndBendsForward) {
  EXPECT_NEAR(elbow_flexion<double>(P(0, 0), P(0, 0.3), P(0, 0.56)), 0, 1e-12);
  // Arm hanging, forearm level in front.
  EXPECT_NEAR(elbow_flexion<double>(P(0, 0), P(0, -0.3), P(0.26, -0.3)), deg(90), 1e-12);
}

TEST(MirroredFacing, GivesTheSameAngles) {
  const P hip_px(500, 400), shoulder_px(560, 260), knee_px(590, 410);
  for (const double facing : {1.0, -1.0}) {
    const auto point = [&](P p) {
      if (facing < 0) p.x() = 1920 - p.x();
      return sagittal_from_picture<double>(p, facing);
    };
    EXPECT_NEAR(trunk_inclination<double>(point(hip_px), point(shoulder_px)),
                std::atan2(60.0, 140.0), 1e-12);
    EXPECT_NEAR(thigh_inclination<double>(point(knee_px), point(hip_px)), std::atan2(90.0, 10.0),
                1e-12);
  }
}

TEST(SagittalAngles, HaveTheDerivativesOfFiniteDifferences) {
  using Scalar = Eigen::AutoDiffScalar<Eigen::Matrix<double, 6, 1>>;
  const std::array<double, 6> at = {0.1, 0.9, 0.35, 1.3, 0.2, 1.9};
  const auto angles = [](const auto& v) {
    using T = std::decay_t<decltype(v[0])>;
    const Vector2<T> a(v[0], v[1]), b(v[2], v[3]), c(v[4], v[5]);
    return std::array<T, 5>{trunk_inclination<T>(a, b), thigh_inclination<T>(b, a),
                            arm_inclination<T>(b, c), elbow_flexion<T>(a, b, c),
                            foot_inclination<T>(a, b)};
  };
  std::array<Scalar, 6> v;
  for (int k = 0; k < 6; ++k)
    v[static_cast<std::size_t>(k)] = Scalar(at[static_cast<std::size_t>(k)], 6, k);
  const auto automatic = angles(v);
  for (std::size_t k = 0; k < 6; ++k) {
    auto up = at, down = at;
    up[k] += 1e-6;
    down[k] -= 1e-6;
    const auto high = angles(up), low = angles(down);
    for (std::size_t i = 0; i < automatic.size(); ++i) {
      EXPECT_NEAR(automatic[i].derivatives()[static_cast<Eigen::Index>(k)],
                  (high[i] - low[i]) / 2e-6, 1e-8)
          << i << " " << k;
    }
  }
}

TEST(FlexionAt, SurvivesStraightLimbsAndCoincidingPoints) {
  EXPECT_NEAR(flexion_at(P(0, 0), P(1, 0), P(2, 0)), 0, 1e-7);
  EXPECT_NEAR(flexion_at(P(0, 0), P(1, 0), P(0, 0)), std::numbers::pi, 1e-7);
  EXPECT_EQ(trunk_inclination<double>(P(1, 1), P(1, 1)), 0.0);
}

}  // namespace
}  // namespace lintel::kinematics
