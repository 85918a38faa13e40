// Against optical motion capture: squats of mocap.cs.cmu.edu (created with funding from NSF
// EIA-0196217), see the README beside the data, seen by a virtual pinhole camera.
#include <gtest/gtest.h>

#include "fitting/fit.h"
#include "unit/fitting/mocap.h"

namespace lintel::fitting {
namespace {

using kinematics::Channel;
using testing::MocapSquat;
using testing::Noise;

constexpr double kDegree = kRadiansPerDegree;

struct Score {
  double squares = 0;
  int inside = 0, count = 0;
  void add(double error, double standard_error) {
    squares += error * error;
    inside += std::abs(error) < 1.96 * standard_error ? 1 : 0;
    ++count;
  }
  double rms() const { return std::sqrt(squares / count); }
  double coverage() const { return static_cast<double>(inside) / count; }
};

MocapSquat squat(const std::string& name, double forward_x, double forward_z) {
  return testing::read_mocap(std::string(LINTEL_SHARED_DATA_DIR) + "/mocap", name, forward_x,
                             forward_z, 4);
}

// No bar, no disc: the scale comes from the lengths, which are off by their 3 %.
FitPriors priors_for(const MocapSquat& mocap, std::uint64_t seed) {
  FitPriors priors = testing::priors_of(mocap.lifter, BarPosition::None, false);
  priors.feet = FeetPrior::MayShift;  // ankles drift by up to 7 and 11 cm (README of the data)
  priors.masses = testing::de_leva_men(75, 0);
  Random random(seed, 3);
  for (Estimate& length : priors.lengths.length) {
    length.value += length.standard_error * random.normal();
  }
  return priors;
}

kinematics::ClipObservation film(const MocapSquat& mocap, double yaw, std::uint64_t seed) {
  const std::vector<double> no_bias(mocap.times.size(), 0.0);
  return testing::film(testing::scene_at(5, yaw), mocap.times, mocap.bodies, no_bias, mocap.lifter,
                       false, Noise(), seed);
}

// Trunk by the near landmarks alone, as a plain two-dimensional reading takes it.
double plain_trunk(const kinematics::FrameObservation& frame) {
  using kinematics::Landmark;
  const Eigen::Vector2f d = (*frame.body)[Landmark::RightShoulder].position_px -
                            (*frame.body)[Landmark::RightHip].position_px;
  return std::atan2(static_cast<double>(d.x()), -static_cast<double>(d.y()));
}

FitResult fit(const MocapSquat& mocap, double yaw, std::uint64_t seed) {
  const auto clip = film(mocap, yaw, seed);
  auto result = fit_skeleton(clip, priors_for(mocap, seed));
  if (!result || result->outcome != FitOutcome::Converged) {
    ADD_FAILURE() << "no fit at seed " << seed;
    return {};
  }
  return std::move(result).value();
}

std::size_t bottom_of(const MocapSquat& mocap) {
  std::size_t bottom = 0;
  for (std::size_t i = 0; i < mocap.bodies.size(); ++i) {
    if (mocap.bodies[i].left.hip.y() < mocap.bodies[bottom].left.hip.y()) bottom = i;
  }
  return bottom;
}

// Landmark errors: white 1 cm, drift over 0.3 s 1.5 cm, fixed 1 cm, each the length of the error
// in the picture plane.
TEST(MocapSquat, TrunkOfSubject13IsFollowedTwiceAsWellAsByAPlainReading) {
  const std::array<MocapSquat, 2> reps = {squat("13_29-rep1", -0.04945, 0.99878),
                                          squat("13_29-rep2", 0.06058, 0.99816)};
  if (reps[0].times.empty()) GTEST_SKIP() << "motion capture data not found";
  Score trunk, thigh_3d, knee_3d, near_knee_3d, plain;
  for (const MocapSquat& mocap : reps) {
    for (const double yaw : {0.0, 5.0, 10.0, 20.0}) {
      for (std::uint64_t seed = 40; seed < 46; ++seed) {
        const FitResult result = fit(mocap, yaw * kDegree, seed);
        if (result.time.empty()) continue;
        const auto clip = film(mocap, yaw * kDegree, seed);
        for (std::size_t i = 0; i < mocap.times.size(); ++i) {
          plain.add(plain_trunk(clip.frames[i]) - mocap.trunk[i], 0);
          const FittedSeries& t = result[Channel::TrunkInclination];
          trunk.add(t.value[i] - mocap.trunk[i], t.standard_error[i]);
          const double thigh = 0.5 * (mocap.left_thigh_3d[i] + mocap.right_thigh_3d[i]);
          const double knee = 0.5 * (mocap.left_knee_3d[i] + mocap.right_knee_3d[i]);
          thigh_3d.add(result.thigh_inclination_3d.value[i] - thigh,
                       result.thigh_inclination_3d.standard_error[i]);
          near_knee_3d.add(result.knee_flexion_3d.value[i] - mocap.right_knee_3d[i],
                           result.knee_flexion_3d.standard_error[i]);
          knee_3d.add(result.knee_flexion_3d.value[i] - knee,
                      result.knee_flexion_3d.standard_error[i]);
        }
      }
    }
  }
  std::printf(
      "trunk rms %.2f deg (plain %.2f), inside %.3f; thigh in space %.2f, %.3f; knee %.2f, %.3f\n",
      trunk.rms() / kDegree, plain.rms() / kDegree, trunk.coverage(), thigh_3d.rms() / kDegree,
      thigh_3d.coverage(), knee_3d.rms() / kDegree, knee_3d.coverage());
  // Measured: trunk 1.99, thigh 3.35, knee 4.68, near knee 3.3. The model is symmetric, this
  // subject's legs are not: without any landmark error 0.7 to 1.1 are left in the trunk. Far-leg
  // landmarks are trusted little, because the network draws them 3 to 5 cm off (offsets.h), so the
  // fit follows the near knee and errs more against the mean of both (tied to 1 cm: 3.9 and 2.7).
  EXPECT_LT(trunk.rms(), 2.1 * kDegree);
  EXPECT_LT(trunk.rms(), 0.6 * plain.rms());
  EXPECT_LT(thigh_3d.rms(), 3.5 * kDegree);
  EXPECT_LT(knee_3d.rms(), 4.9 * kDegree);
  EXPECT_LT(near_knee_3d.rms(), 3.6 * kDegree);
  for (const Score* score : {&trunk, &thigh_3d, &knee_3d}) EXPECT_GE(score->coverage(), 0.90);
}

// Subject 14 squats wide with the knees far out: thigh 157 to 164 degrees in the sagittal plane,
// 106 in space (reps.csv). The two must not be mixed up, and the knee must not either.
TEST(MocapSquat, ForeshortenedThighOfSubject14IsRecognised) {
  const MocapSquat mocap = squat("14_14-rep1", 0.02237, 0.99975);
  if (mocap.times.empty()) GTEST_SKIP() << "motion capture data not found";
  const std::size_t bottom = bottom_of(mocap);
  double in_space = 0, sagittal = 0, knee = 0, spread = 0, count = 0;
  for (std::uint64_t seed = 40; seed < 46; ++seed) {
    const FitResult result = fit(mocap, 5 * kDegree, seed);
    if (result.time.empty()) continue;
    in_space += result.thigh_inclination_3d.value[bottom];
    sagittal += result[Channel::ThighInclination].value[bottom];
    knee += result.knee_flexion_3d.value[bottom];
    spread += result.knee_spread.value[bottom];
    count += 1;
  }
  std::printf(
      "thigh in space %.1f (106.2), sagittal %.1f (160.8), knee %.1f (157.1), spread %.3f\n",
      in_space / count / kDegree, sagittal / count / kDegree, knee / count / kDegree,
      spread / count);
  EXPECT_NEAR(in_space / count, 106.2 * kDegree, 5 * kDegree);
  EXPECT_NEAR(sagittal / count, 160.8 * kDegree, 20 * kDegree);
  EXPECT_NEAR(knee / count, 157.1 * kDegree, 8 * kDegree);
  EXPECT_GT(spread / count, 0.40);  // truth 0.50 m
}

}  // namespace
}  // namespace lintel::fitting
