#include "kinematics/pinhole.h"

#include <gtest/gtest.h>

#include <numbers>

#include <Eigen/Core>
#include <Eigen/Geometry>
#include <unsupported/Eigen/AutoDiff>

#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;
using V3 = Eigen::Vector3d;
using Camera = PinholeCamera<double>;

TEST(Pinhole, ShowsTheAimedPointInTheMiddleAndScalesByFocalOverDistance) {
  Camera camera;
  camera.aim = 0.1;
  EXPECT_NEAR((project<double>(camera, V3(0.1, 1.0, 0)) - Eigen::Vector2d(960, 540)).norm(), 0,
              1e-9);
  const Eigen::Vector2d p = project<double>(camera, V3(0.6, 1.2, 0));
  EXPECT_NEAR(p.x(), 960 + 0.5 * 1500 / 5, 1e-9);
  EXPECT_NEAR(p.y(), 540 - 0.2 * 1500 / 5, 1e-9);
}

TEST(Pinhole, SeesTheAthleteFaceRightFromTheRightAndLeftFromTheLeft) {
  Camera camera;
  const V3 ahead(0.5, 1.0, 0);
  EXPECT_GT(project<double>(camera, ahead).x(), 960);
  camera.side = BodySide::Left;
  EXPECT_LT(project<double>(camera, ahead).x(), 960);
}

TEST(Pinhole, SeesTheNearSideLarger) {
  for (const BodySide side : {BodySide::Right, BodySide::Left}) {
    Camera camera;
    camera.side = side;
    const double near_z = 0.2 * camera.sign();
    EXPECT_LT(in_camera<double>(camera, V3(0, 1, near_z)).z(),
              in_camera<double>(camera, V3(0, 1, -near_z)).z());
    EXPECT_NEAR(in_camera<double>(camera, V3(0, 1, 0)).z(), 5.0, 1e-12);
  }
}

TEST(Pinhole, TurnsTowardsTheFrontByPositiveYaw) {
  for (const BodySide side : {BodySide::Right, BodySide::Left}) {
    Camera camera;
    camera.side = side;
    camera.yaw = deg(90);
    // Straight from the front: the athlete's left is on the picture's right.
    EXPECT_GT(project<double>(camera, V3(0, 1, -0.2)).x(), 960);
    EXPECT_NEAR(project<double>(camera, V3(0.3, 1, 0)).x(), 960, 1e-9);
    EXPECT_LT(in_camera<double>(camera, V3(0.3, 1, 0)).z(), 5.0);
  }
}

TEST(Pinhole, LooksDownByPositivePitchAndTurnsTheSceneClockwiseByPositiveRoll) {
  Camera camera;
  camera.pitch = deg(5);
  EXPECT_NEAR(project<double>(camera, V3(0, 1, 0)).y(), 540 - 1500 * std::tan(deg(5)), 1e-9);
  camera.pitch = 0;
  camera.roll = deg(10);
  const Eigen::Vector2d up = project<double>(camera, V3(0, 1.5, 0)) - Eigen::Vector2d(960, 540);
  EXPECT_NEAR(std::atan2(up.x(), -up.y()), deg(10), 1e-12);
}

// A second formulation: rotation matrices from axis and angle.
TEST(Pinhole, AgreesWithRotationMatrices) {
  Camera camera;
  camera.yaw = deg(17);
  camera.pitch = deg(-6);
  camera.roll = deg(4);
  camera.aim = 0.2;
  camera.height = 0.8;
  const V3 p(0.3, 1.4, -0.25);
  const V3 center(0.2 + 5 * std::sin(deg(17)), 0.8, 5 * std::cos(deg(17)));
  const auto axis_turn = [](const V3& axis, double angle, const V3& v) {  // Rodrigues 1840
    return V3(v * std::cos(angle) + axis.cross(v) * std::sin(angle) +
              axis * axis.dot(v) * (1 - std::cos(angle)));
  };
  // Camera axes: at yaw 0 x = X, y = Y, looks along -Z; turning by yaw about Y.
  V3 x = axis_turn(V3::UnitY(), camera.yaw, V3::UnitX());
  V3 look = axis_turn(V3::UnitY(), camera.yaw, -V3::UnitZ());
  look = axis_turn(x, -camera.pitch, look);
  V3 y = x.cross(look);
  // Camera turned counter-clockwise as seen from behind = scene turned clockwise.
  const V3 x_rolled = axis_turn(look, -camera.roll, x);
  const V3 y_rolled = axis_turn(look, -camera.roll, y);
  const V3 q = p - center;
  const Eigen::Vector2d expected(960 + 1500 * q.dot(x_rolled) / q.dot(look),
                                 540 - 1500 * q.dot(y_rolled) / q.dot(look));
  EXPECT_NEAR((project<double>(camera, p) - expected).norm(), 0, 1e-9);
}

TEST(Pinhole, HasTheJacobianOfFiniteDifferences) {
  constexpr int kInputs = 10;  // seven of the camera, three of the point
  using Scalar = Eigen::AutoDiffScalar<Eigen::Matrix<double, kInputs, 1>>;
  const std::array<double, kInputs> at = {0.2, -0.1, 0.05, 4.8, 0.9, 0.1, 1450, 0.3, 1.2, -0.2};
  for (const BodySide side : {BodySide::Right, BodySide::Left}) {
    const auto picture = [&](const auto& v) {
      using T = std::decay_t<decltype(v[0])>;
      PinholeCamera<T> camera;
      camera.side = side;
      camera.yaw = v[0];
      camera.pitch = v[1];
      camera.roll = v[2];
      camera.distance = v[3];
      camera.height = v[4];
      camera.aim = v[5];
      camera.focal_px = v[6];
      return project<T>(camera, Eigen::Matrix<T, 3, 1>(v[7], v[8], v[9]));
    };
    std::array<Scalar, kInputs> v;
    for (int k = 0; k < kInputs; ++k) {
      v[static_cast<std::size_t>(k)] = Scalar(at[static_cast<std::size_t>(k)], kInputs, k);
    }
    const auto automatic = picture(v);
    for (std::size_t k = 0; k < kInputs; ++k) {
      auto up = at, down = at;
      const double step = 1e-6 * std::max(1.0, std::abs(at[k]));
      up[k] += step;
      down[k] -= step;
      const Eigen::Vector2d numeric = (picture(up) - picture(down)) / (2 * step);
      for (int row = 0; row < 2; ++row) {
        EXPECT_NEAR(automatic[row].derivatives()[static_cast<Eigen::Index>(k)], numeric[row],
                    1e-5 * std::max(1.0, std::abs(numeric[row])))
            << "input " << k;
      }
    }
  }
}

}  // namespace
}  // namespace lintel::kinematics
