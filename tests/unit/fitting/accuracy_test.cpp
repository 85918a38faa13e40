// How well the fit does on an invented squat with the network's kind of errors, many seeds.
#include <gtest/gtest.h>

#include "fitting/fit.h"
#include "fitting/offsets.h"
#include "unit/fitting/scene.h"

namespace lintel::fitting {
namespace {

using kinematics::Channel;
using testing::Lifter;
using testing::Noise;

constexpr double kDegree = kRadiansPerDegree;

// Priors that are wrong by what they say they may be wrong by.
FitPriors erring_priors(const Lifter& lifter, bool disc, std::uint64_t seed) {
  FitPriors priors = testing::priors_of(lifter, BarPosition::Overhead, disc);
  Random random(seed, 1);
  for (Estimate& length : priors.lengths.length) {
    length.value += length.standard_error * random.normal();
  }
  priors.disc_plane_offset.value += priors.disc_plane_offset.standard_error * random.normal();
  priors.grip_width->value += priors.grip_width->standard_error * random.normal();
  return priors;
}
testing::Scene erring_scene(double yaw, std::uint64_t seed) {
  Random random(seed, 2);
  testing::Scene scene = testing::scene_at(5, yaw);
  scene.camera.roll = random.normal() * 1 * kDegree;
  scene.camera.pitch = random.normal() * 2 * kDegree;
  scene.camera.focal_px *= 1 + 0.08 * random.normal();
  return scene;
}

struct Score {
  double squares = 0, variances = 0, bottom = 0;
  int inside = 0, count = 0, bottoms = 0;
  void add(double error, double standard_error, bool at_bottom) {
    squares += error * error;
    variances += standard_error * standard_error;
    inside += std::abs(error) < 1.96 * standard_error ? 1 : 0;
    ++count;
    if (at_bottom) {
      bottom += error;
      ++bottoms;
    }
  }
  double stated() const { return std::sqrt(variances / count); }
  double rms() const { return std::sqrt(squares / count); }
  double coverage() const { return static_cast<double>(inside) / count; }
  double bottom_bias() const { return bottom / bottoms; }
};

struct Scores {
  Score trunk, shank, thigh, hip_height;
  double bar_shape_squares = 0;
  int bar_count = 0;
  double yaw = 0, yaw_error = 0;
  int yaw_inside = 0, clips = 0;
  double bar_shape() const { return std::sqrt(bar_shape_squares / bar_count); }
};

Scores run(int seeds, double yaw, bool disc, const Noise& noise, bool masses) {
  const Lifter lifter;
  Scores scores;
  for (int seed = 0; seed < seeds; ++seed) {
    const auto k = static_cast<std::uint64_t>(100 + seed);
    const auto filmed = testing::film_squat(lifter, erring_scene(yaw, k), disc, noise, k);
    FitPriors priors = erring_priors(lifter, disc, k);
    if (masses) priors.masses = testing::de_leva_men(80, 40);
    const auto result = fit_skeleton(filmed.clip, priors);
    if (!result || result->outcome != FitOutcome::Converged) {
      ADD_FAILURE() << "seed " << seed << " did not converge";
      continue;
    }
    Eigen::Vector2d mean(0, 0);
    std::vector<Eigen::Vector2d> bar;
    for (std::size_t i = 0; i < filmed.times.size(); ++i) {
      const bool bottom = i == 61;
      const auto add = [&](Score& score, Channel channel, double truth) {
        score.add((*result)[channel].value[i] - truth, (*result)[channel].standard_error[i],
                  bottom);
      };
      add(scores.trunk, Channel::TrunkInclination, filmed.postures[i].trunk);
      add(scores.shank, Channel::ShankInclination, filmed.postures[i].shank);
      add(scores.thigh, Channel::ThighInclination, filmed.postures[i].thigh);
      add(scores.hip_height, Channel::HipHeight, filmed.bodies[i].right.hip.y());
      bar.emplace_back((*result)[Channel::BarX].value[i] - filmed.bodies[i].bar->x(),
                       (*result)[Channel::BarY].value[i] - filmed.bodies[i].bar->y());
      mean += bar.back();
    }
    mean /= static_cast<double>(bar.size());
    for (const Eigen::Vector2d& b : bar) {
      scores.bar_shape_squares += 0.5 * (b - mean).squaredNorm();
      ++scores.bar_count;
    }
    const Estimate& turn = result->camera.yaw;
    scores.yaw += turn.value;
    scores.yaw_error += turn.standard_error;
    scores.yaw_inside += std::abs(turn.value - yaw) < 1.96 * turn.standard_error ? 1 : 0;
    ++scores.clips;
  }
  scores.yaw /= scores.clips;
  scores.yaw_error /= scores.clips;
  return scores;
}

TEST(FitAccuracy, FollowsASideViewWithinTheErrorsOfTheLandmarks) {
  const Scores scores = run(6, 0, true, Noise(), true);
  // One degree of it is the camera's roll, which nothing in the picture tells.
  EXPECT_LT(scores.trunk.rms(), 2.6 * kDegree);
  EXPECT_LT(scores.shank.rms(), 2.5 * kDegree);
  EXPECT_LT(scores.thigh.rms(), 3.0 * kDegree);
  EXPECT_LT(scores.bar_shape(), 0.006);
}

TEST(FitAccuracy, FindsATurnOfTwentyDegreesWithinItsError) {
  const Scores scores = run(6, 20 * kDegree, true, Noise(), true);
  EXPECT_LT(scores.yaw_error, 3 * kDegree);
  EXPECT_GE(scores.yaw_inside, scores.clips - 1);
  EXPECT_NEAR(scores.yaw, 20 * kDegree, 2 * kDegree);
  // A plain projection of a body turned by 20 degrees errs by 4.4 in the trunk, 7.4 in the knee
  // (network notes, section 7). Measured 2.75 (stated 2.4): a far leg that may sit where it likes,
  // as the network's does, holds the turn less firmly; with a far leg tied to 1 cm it was 2.68.
  EXPECT_LT(scores.trunk.rms(), 2.9 * kDegree);
  EXPECT_LT(scores.shank.rms(), 2.5 * kDegree);
  EXPECT_LT(scores.bar_shape(), 0.006);
}

// The network sees the bent knee towards the hip, which reads as a shank 8 degrees too upright.
TEST(FitAccuracy, TakesMostOfTheBottomBiasOutOfTheShank) {
  Noise noise;
  noise.knee_bias = {-0.05, 0, 0};
  const Scores biased = run(6, 0, true, noise, true);
  EXPECT_LT(std::abs(biased.shank.bottom_bias()), 3 * kDegree);
  EXPECT_GT(biased.shank.coverage(), 0.9);
}

TEST(FitAccuracy, IsHardlyMovedByOutliers) {
  Noise wild;
  wild.outlier_share = 0.05;
  const Scores with = run(5, 5 * kDegree, true, wild, true);
  const Scores without = run(5, 5 * kDegree, true, Noise(), true);
  EXPECT_LT(with.trunk.rms(), without.trunk.rms() + 0.4 * kDegree);
  EXPECT_LT(with.shank.rms(), without.shank.rms() + 0.5 * kDegree);
}

// Every unknown drawn from its stated prior: then 95 % intervals must hold in 95 % of the cases.
// Drift and white noise as the options assume them.
TEST(FitAccuracy, StatesErrorsThatCoverTheTruthAsOftenAsTheySay) {
  Score trunk, shank, thigh, hip, change;
  for (std::uint64_t seed = 0; seed < 24; ++seed) {
    Random random(900 + seed);
    Lifter lifter;
    const FitPriors stated;
    const auto draw = [&random](const Estimate& e) {
      return e.value + e.standard_error * random.normal();
    };
    lifter.stance = std::max(0.18, draw(stated.stance_width));
    lifter.toe_out = draw(stated.toe_out);
    const double yaw = draw(stated.yaw);
    Noise noise;
    noise.fixed = 0;
    testing::Scene scene = testing::scene_at(5, yaw);
    scene.camera.roll = draw(stated.roll);
    scene.camera.pitch = draw(stated.pitch);
    scene.camera.height = std::max(0.2, draw(stated.camera_height));
    scene.camera.focal_px = 1920 * std::max(0.5, draw(stated.focal_per_long_side));
    auto filmed = testing::film_squat(lifter, scene, true, noise, 900 + seed);
    // Offsets of the landmarks, standing and bent, near (right) and far, from offsets.h.
    const double scale = scene.camera.focal_px / scene.camera.distance;
    for (int k = 0; k < 8; ++k) {
      const OffsetPrior prior = offset_prior(static_cast<FittedLandmark>(k));
      Eigen::Vector2d shared, bent;
      for (int j = 0; j < 2; ++j) {
        shared[j] = prior.shared * random.normal();
        bent[j] = prior.flexion_shared * random.normal();
      }
      for (const bool left : {false, true}) {
        Eigen::Vector2d standing = shared, flexed = bent;
        for (int j = 0; j < 2; ++j) {
          standing[j] += (left ? prior.own_far : prior.own_near) * random.normal();
          flexed[j] += (left ? prior.flexion_far : prior.flexion_near) * random.normal();
        }
        for (std::size_t i = 0; i < filmed.times.size(); ++i) {
          const testing::Posture& p = filmed.postures[i];
          const double s = 0.5 * (1 - std::cos(p.shank + p.thigh));
          double a = 0;
          if (k == 0 || k == 3) a = p.trunk;
          if (k == 4) a = -p.thigh;
          const Eigen::Vector2d o = standing + s * flexed;
          const Eigen::Vector2d d(o.x() * std::cos(a) + o.y() * std::sin(a),
                                  -o.x() * std::sin(a) + o.y() * std::cos(a));
          auto& seen = (*filmed.clip.frames[i].body)[testing::landmark_at(k, left)];
          seen.position_px += (scale * Eigen::Vector2d(d.x(), -d.y())).cast<float>();
        }
      }
    }
    FitPriors priors = erring_priors(lifter, true, 900 + seed);
    const auto result = fit_skeleton(filmed.clip, priors);
    ASSERT_TRUE(result.has_value());
    ASSERT_EQ(result->outcome, FitOutcome::Converged);
    for (std::size_t i = 0; i < filmed.times.size(); ++i) {
      const auto add = [&](Score& score, Channel channel, double truth) {
        score.add((*result)[channel].value[i] - truth, (*result)[channel].standard_error[i], false);
      };
      add(trunk, Channel::TrunkInclination, filmed.postures[i].trunk);
      add(shank, Channel::ShankInclination, filmed.postures[i].shank);
      add(thigh, Channel::ThighInclination, filmed.postures[i].thigh);
      add(hip, Channel::HipHeight, filmed.bodies[i].right.hip.y());
    }
    const FittedSeries& t = (*result)[Channel::TrunkInclination];
    const double truth = filmed.postures[61].trunk - filmed.postures[6].trunk;
    const double se = result->errors.change_standard_error(Channel::TrunkInclination, 6, 61);
    EXPECT_LT(se, std::hypot(t.standard_error[6], t.standard_error[61]));
    change.add(t.value[61] - t.value[6] - truth, se, false);
  }
  // 90 to 99 % of all values together; measured 0.982, 0.986, 0.996, 0.993. The priors of
  // accelerations and offsets leave the thigh more room than this squat takes.
  int inside = 0, count = 0;
  for (const Score* score : {&trunk, &shank, &thigh, &hip}) {
    EXPECT_GT(score->coverage(), 0.90);
    inside += score->inside;
    count += score->count;
  }
  EXPECT_LE(static_cast<double>(inside) / count, 0.99);
  EXPECT_GE(change.inside, 20);  // of 24; 95 % expected
  std::printf(
      "coverage trunk %.3f shank %.3f thigh %.3f hip %.3f change %d/24; rms (stated) trunk %.2f "
      "(%.2f) shank %.2f (%.2f) thigh %.2f (%.2f) deg, hip %.1f (%.1f) mm\n",
      trunk.coverage(), shank.coverage(), thigh.coverage(), hip.coverage(), change.inside,
      trunk.rms() / kDegree, trunk.stated() / kDegree, shank.rms() / kDegree,
      shank.stated() / kDegree, thigh.rms() / kDegree, thigh.stated() / kDegree, hip.rms() * 1000,
      hip.stated() * 1000);
}

}  // namespace
}  // namespace lintel::fitting
