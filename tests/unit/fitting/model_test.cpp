#include <gtest/gtest.h>

#include "fitting/curve.h"
#include "fitting/initial.h"
#include "fitting/model.h"
#include "fitting/solve.h"
#include "unit/fitting/scene.h"

namespace lintel::fitting {
namespace {

using testing::Lifter;

// Globals of the test's lifter.
GlobalVector globals_of(const Lifter& l) {
  GlobalVector g{};
  const auto set = [&](GlobalQuantity q, double value) {
    g[static_cast<std::size_t>(at(q))] = value;
  };
  set(GlobalQuantity::Shank, l.shank);
  set(GlobalQuantity::Thigh, l.thigh);
  set(GlobalQuantity::Trunk, l.trunk);
  set(GlobalQuantity::UpperArm, l.upper_arm);
  set(GlobalQuantity::Forearm, l.forearm);
  set(GlobalQuantity::AnkleHeight, l.ankle_height);
  set(GlobalQuantity::HeelToAnkle, l.heel_to_ankle);
  set(GlobalQuantity::AnkleToBall, 0.78 * l.foot - l.heel_to_ankle);
  set(GlobalQuantity::InterHip, l.inter_hip);
  set(GlobalQuantity::InterShoulder, l.inter_shoulder);
  set(GlobalQuantity::StanceWidth, l.stance);
  set(GlobalQuantity::ToeOut, l.toe_out);
  set(GlobalQuantity::GripWidth, l.grip_width);
  return g;
}

TEST(Model, KeepsEverySegmentsLengthInSpaceWhateverThePose) {
  const Lifter lifter;
  const GlobalVector g = globals_of(lifter);
  ModelConstants constants;
  constants.grip = lifter.grip;
  Random random(3);
  for (int i = 0; i < 200; ++i) {
    PoseVector q{};
    q[kFootPitch] = random.uniform(0, 0.5);
    q[kShank] = random.uniform(-0.2, 0.8);
    q[kThigh] = random.uniform(-0.1, 2.0);
    q[kSpread] = random.uniform(-0.2, 0.7);
    q[kTrunk] = random.uniform(-0.1, 1.2);
    q[kUpperArm] = random.uniform(-0.5, 2.5);
    Chain<double> chain(q.data(), g.data(), constants);
    chain.place_all();
    EXPECT_NEAR((chain.knee - chain.ankle).norm(), lifter.shank, 1e-7);
    EXPECT_NEAR((chain.hip - chain.knee).norm(), lifter.thigh, 1e-7);
    EXPECT_NEAR((chain.elbow - chain.shoulder).norm(), lifter.upper_arm, 1e-7);
    EXPECT_NEAR((chain.heel - chain.toe).norm(),
                std::hypot(0.78 * lifter.foot, kHeelLandmarkHeight - kToeLandmarkHeight), 5e-3);
    EXPECT_NEAR(chain.hip.z(), 0.5 * lifter.inter_hip, 1e-12);
  }
}

TEST(Model, StandsWithStraightLegsFromAnkleToHip) {
  const Lifter lifter;
  const GlobalVector g = globals_of(lifter);
  const ModelConstants constants;
  const PoseVector q{};
  Chain<double> chain(q.data(), g.data(), constants);
  chain.place_all();
  EXPECT_NEAR((chain.hip - chain.ankle).norm(), lifter.shank + lifter.thigh, 2e-5);
}

TEST(Model, SeesADiscWhereSampledRimPointsPutTheEllipse) {
  for (const double yaw : {0.0, 0.2, -0.4}) {
    auto scene = testing::scene_at(4.2, yaw, 1.3);
    scene.camera.roll = 0.03;
    scene.camera.pitch = 0.05;
    ModelConstants constants;
    constants.disc_radius = 0.225;
    constants.principal_px = scene.camera.principal_px;
    GlobalVector g{};
    const auto set = [&](GlobalQuantity q, double value) {
      g[static_cast<std::size_t>(at(q))] = value;
    };
    set(GlobalQuantity::Yaw, yaw);
    set(GlobalQuantity::Roll, 0.03);
    set(GlobalQuantity::Pitch, 0.05);
    set(GlobalQuantity::CameraHeight, 1.3);
    set(GlobalQuantity::CameraDistance, std::log(4.2));
    set(GlobalQuantity::FocalLength, std::log(scene.camera.focal_px));
    set(GlobalQuantity::DiscPlaneOffset, 0.7);
    const Eigen::Vector2d bar(0.1, 2.0);
    const DiscPicture<double> picture = project_disc(bar, g.data(), constants);
    const auto seen = testing::see_disc(scene.camera, {0.1, 2.0, 0.7}, 0.225);
    EXPECT_NEAR(picture.center.x(), seen.center_px.x(), 1e-3);
    EXPECT_NEAR(picture.center.y(), seen.center_px.y(), 1e-3);
    const double a = seen.semi_major_px, b = seen.semi_minor_px;
    const double c = std::cos(seen.major_axis_angle), s = std::sin(seen.major_axis_angle);
    EXPECT_NEAR(picture.sxx, a * a * c * c + b * b * s * s, 2e-2);
    EXPECT_NEAR(picture.syy, a * a * s * s + b * b * c * c, 2e-2);
    EXPECT_NEAR(picture.sxy, (a * a - b * b) * c * s, 2e-2);
  }
}

TEST(KnotGrid, ReproducesStraightLinesAndTheirSlope) {
  const KnotGrid grid = KnotGrid::covering(2.0, 3.05, 0.1);
  for (const double t : {2.0, 2.03, 2.5, 2.77, 3.05}) {
    const KnotGrid::Weights w = grid.weights(t);
    double value = 0, rate = 0, sum = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const double control = 3.0 * grid.control_time(w.first + static_cast<int>(k)) - 1.0;
      value += w.value[k] * control;
      rate += w.rate[k] * control;
      sum += w.value[k];
    }
    EXPECT_NEAR(sum, 1.0, 1e-14);
    EXPECT_NEAR(value, 3.0 * t - 1.0, 1e-12);
    EXPECT_NEAR(rate, 3.0, 1e-12);
    EXPECT_LT(w.first + 3, grid.control_points);
  }
}

// Against Ceres Solver's numeric (Ridders) derivatives, for every residual of a short clip.
TEST(Residuals, HaveTheDerivativesThatNumericDifferencesGive) {
#ifdef __SANITIZE_ADDRESS__
  // Eigen aligns its memory itself under this sanitizer and the distribution's Ceres does not: what
  // the gradient checker allocates there cannot be freed here.
  GTEST_SKIP() << "the distribution's Ceres is not built with the sanitizer";
#endif
  const Lifter lifter;
  for (const BarPosition bar : {BarPosition::Overhead, BarPosition::Back}) {
    const auto filmed =
        testing::film_squat(lifter, testing::scene_at(5, 0.2), true, testing::Noise(), 5, 0.2);
    FitPriors priors = testing::priors_of(lifter, bar, true);
    priors.masses = testing::de_leva_men(80, 40);
    const FitOptions options;
    const auto pooled = pool_clip(filmed.clip, priors, options);
    ASSERT_TRUE(pooled.has_value());
    const InitialGuess start = guess(*pooled, priors, options);
    ASSERT_TRUE(start.usable);
    Parameters parameters = start_parameters(start, 0, pooled->frames.size(), options.knot_spacing);
    // Away from the symmetric standing pose, where some derivatives vanish.
    Random random(8);
    for (auto& control : parameters.control) {
      control[kThigh] += 1.0;
      control[kShank] += 0.4;
      for (double& x : control) x += 0.02 * random.normal();
    }
    for (auto& offset : parameters.offset) {
      for (double& x : offset) x = 0.01 * random.normal();
    }
    EXPECT_LT(derivative_error(start.problem, parameters), 1e-6);
  }
}

}  // namespace
}  // namespace lintel::fitting
