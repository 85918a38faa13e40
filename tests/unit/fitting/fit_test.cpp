#include "fitting/fit.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>

#include "unit/fitting/scene.h"

namespace lintel::fitting {
namespace {

using kinematics::Channel;
using testing::Lifter;
using testing::Noise;

constexpr double kDegree = kRadiansPerDegree;

FitResult fit(const kinematics::ClipObservation& clip, const FitPriors& priors,
              const FitOptions& options = {}) {
  auto result = fit_skeleton(clip, priors, options);
  if (!result) {
    ADD_FAILURE() << describe(result.error());
    return {};
  }
  return std::move(result).value();
}

// Points come as 32-bit pixels (1e-4 px, 3e-7 m) and the scale from the lengths alone, so a
// relative error of about 1e-5 is what the input allows.
TEST(Fit, RecoversTheTruthFromExactPointsToTheRoundingOfPixels) {
  const Lifter lifter;
  testing::Scene scene = testing::scene_at(5, 0);
  // Slow, between a shallow and a deep squat: what a cubic spline cannot follow stays below the
  // tolerance (upright, the thigh's azimuth is undefined and turns fast).
  std::vector<double> times, flexion;
  std::vector<testing::Body3d> bodies;
  std::vector<testing::Posture> postures;
  for (int i = 0; i <= 180; ++i) {
    const double t = i / 30.0;
    times.push_back(t);
    flexion.push_back(0.35 + 0.3 * (1 - std::cos(t * 2 * 3.141592653589793 / 6.0)));
    postures.push_back(testing::squat_posture(lifter, flexion.back()));
    bodies.push_back(testing::body_of(lifter, postures.back()));
  }
  const auto clip = testing::film(scene, times, bodies, flexion, lifter, false, Noise::none(), 1);
  // Without the arms, whose elbows are by prior a little bent and here are not.
  const FitPriors priors = testing::priors_of(lifter, BarPosition::None, false);
  FitOptions options;
  options.motion_prior_scale = 1e6;
  options.landmark_noise = 1e-4;
  options.offset_scale = 1e-4;
  options.adapt_noise = false;
  options.tolerance = 1e-16;
  options.max_iterations = 200;
  const FitResult result = fit(clip, priors, options);
  ASSERT_EQ(result.outcome, FitOutcome::Converged) << result.outcome_reason;
  double worst_angle = 0, worst_height = 0;
  for (std::size_t i = 0; i < times.size(); ++i) {
    const auto off = [&](Channel channel, double truth) {
      return std::abs(result[channel].value[i] - truth);
    };
    worst_angle = std::max({worst_angle, off(Channel::TrunkInclination, postures[i].trunk),
                            off(Channel::ThighInclination, postures[i].thigh),
                            off(Channel::ShankInclination, postures[i].shank)});
    worst_height = std::max(worst_height, off(Channel::HipHeight, bodies[i].right.hip.y()));
  }
  EXPECT_LT(result.statistics.landmarks[3].rms, 5e-7);  // hip, near
  EXPECT_LT(worst_angle, 1e-5);                         // measured 8.6e-6
  EXPECT_LT(worst_height, 2e-5);
}

// The prior of the elbow (6 degrees bent) and smoothness are real; without noise they are what is
// left of the error.
TEST(Fit, FollowsAnExactSquatWithDefaultOptionsToOneDegree) {
  const Lifter lifter;
  const auto filmed =
      testing::film_squat(lifter, testing::scene_at(5, 0.1), true, Noise::none(), 1);
  const FitResult result =
      fit(filmed.clip, testing::priors_of(lifter, BarPosition::Overhead, true));
  ASSERT_EQ(result.outcome, FitOutcome::Converged);
  double squares = 0;
  for (std::size_t i = 0; i < filmed.times.size(); ++i) {
    const double e = result[Channel::TrunkInclination].value[i] - filmed.postures[i].trunk;
    squares += e * e;
    EXPECT_NEAR(result[Channel::ArmInclination].value[i], filmed.postures[i].arm, 2.0 * kDegree);
  }
  EXPECT_LT(std::sqrt(squares / static_cast<double>(filmed.times.size())), 1.0 * kDegree);
  EXPECT_EQ(result.figures.size(), filmed.times.size());
  // Rates: the derivative of what is drawn.
  const FittedSeries& trunk = result[Channel::TrunkInclination];
  const std::size_t k = 35;
  const double slope =
      (trunk.value[k + 1] - trunk.value[k - 1]) / (filmed.times[k + 1] - filmed.times[k - 1]);
  EXPECT_NEAR(trunk.rate[k], slope, 0.03);
}

TEST(Fit, DrawsTheFigureWhereTheJointsAreInThePicture) {
  const Lifter lifter;
  const auto scene = testing::scene_at(5, 0.15);
  const auto filmed = testing::film_squat(lifter, scene, true, Noise::none(), 1);
  const FitResult result =
      fit(filmed.clip, testing::priors_of(lifter, BarPosition::Overhead, true));
  const double scale = scene.camera.focal_px / scene.camera.distance;
  const std::size_t bottom = 61;
  const auto near = [&](kinematics::FigurePoint point, const Eigen::Vector3d& truth, double cm) {
    const Eigen::Vector2d seen = project(scene.camera, truth);
    const Eigen::Vector2f drawn = result.figures[bottom][static_cast<std::size_t>(point)];
    EXPECT_LT((drawn.cast<double>() - seen).norm(), 0.01 * cm * scale) << static_cast<int>(point);
  };
  const testing::Limb& limb = filmed.bodies[bottom].right;
  near(kinematics::FigurePoint::Hip, limb.hip, 2);
  near(kinematics::FigurePoint::Shoulder, limb.shoulder, 2);
  near(kinematics::FigurePoint::Ankle, limb.ankle, 2);
  near(kinematics::FigurePoint::Knee, limb.knee, 3);
  Eigen::Vector3d disc = *filmed.bodies[bottom].bar;
  disc.z() = lifter.disc_plane;
  near(kinematics::FigurePoint::Bar, disc, 0.5);
}

TEST(Fit, GivesTheMirroredAnswerToTheMirroredClip) {
  const Lifter lifter;
  auto scene = testing::scene_at(5, 0.2);
  scene.camera.roll = 0.02;
  const auto filmed = testing::film_squat(lifter, scene, true, Noise(), 7);
  kinematics::ClipObservation mirrored = filmed.clip;
  for (auto& frame : mirrored.frames) {
    for (int k = 0; k < 8; ++k) {
      auto& left = (*frame.body)[testing::landmark_at(k, true)];
      auto& right = (*frame.body)[testing::landmark_at(k, false)];
      std::swap(left, right);
      for (auto* l : {&left, &right}) l->position_px.x() = 1080.0F - l->position_px.x();
    }
    frame.disc->center_px.x() = 1080.0F - frame.disc->center_px.x();
    frame.disc->major_axis_angle = 3.14159265F - frame.disc->major_axis_angle;
  }
  FitPriors priors = testing::priors_of(lifter, BarPosition::Overhead, true);
  const FitResult a = fit(filmed.clip, priors);
  priors.facing = -1;
  priors.near_side = kinematics::BodySide::Left;
  const FitResult b = fit(mirrored, priors);
  EXPECT_NEAR(a.camera.yaw.value, b.camera.yaw.value, 1e-4);
  EXPECT_NEAR(a.camera.roll.value, -b.camera.roll.value, 1e-4);
  for (std::size_t i = 0; i < filmed.times.size(); i += 7) {
    for (int c = 0; c < kinematics::kChannelCount; ++c) {
      const auto channel = static_cast<Channel>(c);
      if (std::isnan(a[channel].value[i])) continue;
      EXPECT_NEAR(a[channel].value[i], b[channel].value[i], 2e-4) << c << " at " << i;
      EXPECT_NEAR(a[channel].standard_error[i], b[channel].standard_error[i], 2e-4) << c;
    }
    EXPECT_NEAR(a.figures[i][4].x(), 1080.0F - b.figures[i][4].x(), 0.2);
    EXPECT_NEAR(a.points[i][4].z(), -b.points[i][4].z(), 1e-3);
  }
}

TEST(Fit, StatesAboutTheSameErrorAtTwiceAndEightTimesTheFrameRate) {
  const Lifter lifter;
  const FitPriors priors = testing::priors_of(lifter, BarPosition::Overhead, true);
  std::array<double, 3> error{};
  std::size_t slot = 0;
  for (const double rate : {30.0, 60.0, 240.0}) {
    auto scene = testing::scene_at(5, 0.1);
    scene.rate = rate;
    const auto filmed = testing::film_squat(lifter, scene, true, Noise(), 3);
    const FitResult result = fit(filmed.clip, priors);
    ASSERT_EQ(result.time.size(), filmed.times.size());
    error[slot++] =
        result[Channel::TrunkInclination].standard_error[static_cast<std::size_t>(2.0 * rate)];
  }
  EXPECT_NEAR(error[1] / error[0], 1.0, 0.1);
  EXPECT_NEAR(error[2] / error[0], 1.0, 0.1);
}

TEST(Fit, BridgesAGapWithGrowingErrorAndStaysSilentFarInside) {
  const Lifter lifter;
  const auto filmed = testing::film_squat(lifter, testing::scene_at(5, 0), true, Noise(), 3);
  kinematics::ClipObservation clip = filmed.clip;
  for (std::size_t i = 40; i < 80; ++i) {  // 1.33 s
    clip.frames[i].body.reset();
    clip.frames[i].disc.reset();
  }
  const FitResult result = fit(clip, testing::priors_of(lifter, BarPosition::Overhead, true));
  const FittedSeries& trunk = result[Channel::TrunkInclination];
  EXPECT_GT(trunk.standard_error[50], 1.3 * trunk.standard_error[38]);
  EXPECT_TRUE(std::isnan(trunk.value[60]));
  EXPECT_TRUE(std::isnan(trunk.standard_error[60]));
  EXPECT_FALSE(std::isnan(trunk.value[38]));
  EXPECT_TRUE(std::isnan(result.figures[60][4].x()));
}

TEST(Fit, HandlesAClipLongerThanOneWindowWithoutSeams) {
  const Lifter lifter;
  FitOptions options;
  options.window_frames = 240;
  const auto filmed =
      testing::film_squat(lifter, testing::scene_at(5, 0.05), true, Noise(), 11, 20.0);
  const FitPriors priors = testing::priors_of(lifter, BarPosition::Overhead, true);
  const FitResult result = fit(filmed.clip, priors, options);
  EXPECT_GT(result.statistics.windows, 2);
  const FittedSeries& trunk = result[Channel::TrunkInclination];
  double squares = 0;
  for (std::size_t i = 0; i < filmed.times.size(); ++i) {
    ASSERT_FALSE(std::isnan(trunk.value[i])) << i;
    ASSERT_GT(trunk.standard_error[i], 0.2 * kDegree);
    const double e = trunk.value[i] - filmed.postures[i].trunk;
    squares += e * e;
    const double before = trunk.value[i > 0 ? i - 1 : 0];
    EXPECT_LT(std::abs(trunk.value[i] - before), 4 * kDegree) << i;
  }
  EXPECT_LT(std::sqrt(squares / static_cast<double>(filmed.times.size())), 3.0 * kDegree);
}

TEST(Fit, MeasuresASinglePicture) {
  const Lifter lifter;
  auto filmed = testing::film_squat(lifter, testing::scene_at(5, 0), true, Noise::none(), 1);
  kinematics::ClipObservation still = filmed.clip;
  still.frames = {filmed.clip.frames[61]};
  still.nominal_rate = 0;
  const FitResult result = fit(still, testing::priors_of(lifter, BarPosition::Overhead, true));
  ASSERT_EQ(result.time.size(), 1U);
  EXPECT_NEAR(result[Channel::TrunkInclination].value[0], filmed.postures[61].trunk, 4 * kDegree);
  EXPECT_GT(result[Channel::TrunkInclination].standard_error[0], 1 * kDegree);
}

TEST(Fit, FindsABarOnTheBack) {
  const Lifter lifter;
  auto filmed = testing::film_squat(lifter, testing::scene_at(5, 0.1), true, Noise::none(), 1);
  std::vector<double> flexion;
  for (std::size_t i = 0; i < filmed.times.size(); ++i) {
    const double a = filmed.postures[i].trunk;
    filmed.bodies[i].bar = filmed.bodies[i].right.shoulder +
                           Eigen::Vector3d(-0.06 * std::cos(a) + 0.01 * std::sin(a),
                                           0.06 * std::sin(a) + 0.01 * std::cos(a), 0);
    flexion.push_back(testing::squat_depth(filmed.times[i]));
  }
  const auto clip = testing::film(testing::scene_at(5, 0.1), filmed.times, filmed.bodies, flexion,
                                  lifter, true, Noise::none(), 1);
  const FitResult result = fit(clip, testing::priors_of(lifter, BarPosition::Back, true));
  ASSERT_EQ(result.outcome, FitOutcome::Converged);
  const double middle = testing::mid_foot_x(lifter);
  for (std::size_t i = 0; i < filmed.times.size(); i += 5) {
    EXPECT_NEAR(result[Channel::BarY].value[i], filmed.bodies[i].bar->y(), 0.03) << i;
    EXPECT_NEAR(result[Channel::BarX].value[i], filmed.bodies[i].bar->x() - middle, 0.03) << i;
  }
  EXPECT_NEAR(result[GlobalQuantity::BarOffsetForward].value, -0.06, 0.02);
}

TEST(Fit, SaysThatNothingWasFittedWhenNobodyIsInThePicture) {
  kinematics::ClipObservation clip;
  clip.width_px = 1080;
  clip.height_px = 1920;
  for (int i = 0; i < 30; ++i) {
    kinematics::FrameObservation frame;
    frame.index = i;
    frame.time = i / 30.0;
    clip.frames.push_back(frame);
  }
  const FitResult result = fit(clip, testing::priors_of(Lifter(), BarPosition::None, false));
  EXPECT_EQ(result.outcome, FitOutcome::NotEnoughData);
  EXPECT_FALSE(result.outcome_reason.empty());
  EXPECT_TRUE(result[Channel::TrunkInclination].value.empty());
  clip.frames.clear();
  EXPECT_EQ(fit(clip, testing::priors_of(Lifter(), BarPosition::None, false)).outcome,
            FitOutcome::NotEnoughData);
}

TEST(Fit, RefusesTimesThatDoNotRiseAndNamesTheFrame) {
  auto filmed = testing::film_squat(Lifter(), testing::scene_at(5, 0), true, Noise(), 3, 1.0);
  filmed.clip.frames[7].time = filmed.clip.frames[6].time;
  const auto result =
      fit_skeleton(filmed.clip, testing::priors_of(Lifter(), BarPosition::Overhead, true));
  ASSERT_FALSE(result.has_value());
  EXPECT_EQ(result.error().code, ErrorCode::Invalid);
  EXPECT_EQ(result.error().place.frame, 7);
  EXPECT_FALSE(result.error().mend.empty());
}

TEST(Fit, RefusesALengthThatIsMissing) {
  const auto filmed = testing::film_squat(Lifter(), testing::scene_at(5, 0), true, Noise(), 3, 1.0);
  FitPriors priors = testing::priors_of(Lifter(), BarPosition::Overhead, true);
  priors.lengths[body::Segment::Thigh].value = 0;
  const auto result = fit_skeleton(filmed.clip, priors);
  ASSERT_FALSE(result.has_value());
  EXPECT_EQ(result.error().code, ErrorCode::Invalid);
}

TEST(Fit, SurvivesPointsThatAreNotNumbers) {
  auto filmed = testing::film_squat(Lifter(), testing::scene_at(5, 0), true, Noise(), 3);
  const float none = std::numeric_limits<float>::quiet_NaN();
  for (std::size_t i = 0; i < filmed.clip.frames.size(); i += 9) {
    for (int k = 0; k < 8; ++k) {
      (*filmed.clip.frames[i].body)[testing::landmark_at(k, false)].position_px = {none, none};
    }
    filmed.clip.frames[i].disc->semi_major_px = none;
    filmed.clip.frames[i].disc->center_px = {1e30F, none};
  }
  const FitResult result =
      fit(filmed.clip, testing::priors_of(Lifter(), BarPosition::Overhead, true));
  EXPECT_EQ(result.outcome, FitOutcome::Converged);
  for (const double value : result[Channel::TrunkInclination].value) {
    EXPECT_TRUE(std::isfinite(value));
  }
}

TEST(Fit, StopsAtTheNextStepWhenAskedTo) {
  const auto filmed = testing::film_squat(Lifter(), testing::scene_at(5, 0), true, Noise(), 3);
  std::stop_source source;
  int reports = 0;
  WorkContext context;
  context.stop = source.get_token();
  context.progress = [&](const Progress& progress) {
    ++reports;
    EXPECT_FALSE(progress.stage.empty());
    EXPECT_GE(progress.total, progress.done);
    if (reports == 3) source.request_stop();
  };
  const auto result = fit_skeleton(
      filmed.clip, testing::priors_of(Lifter(), BarPosition::Overhead, true), {}, context);
  ASSERT_FALSE(result.has_value());
  EXPECT_EQ(result.error().code, ErrorCode::Cancelled);
  EXPECT_EQ(reports, 3);
}

}  // namespace
}  // namespace lintel::fitting
