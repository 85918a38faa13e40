#include "kinematics/assemble.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "base/random.h"
#include "kinematics/sagittal_angles.h"
#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;

Series constant_error(std::vector<double> value, double error) {
  Series series;
  series.standard_error.assign(value.size(), error);
  series.fitted = std::move(value);
  return series;
}

struct TwoFrames {
  std::array<Series, kChannelCount> series;
  RepetitionEvents events;
};
// Start at frame 0, bottom at frame 1.
TwoFrames leaning(double trunk0, double trunk1, double arm0, double arm1) {
  TwoFrames out;
  const auto set = [&](Channel c, std::vector<double> v, double error) {
    out.series[static_cast<std::size_t>(c)] = constant_error(std::move(v), error);
  };
  set(Channel::TrunkInclination, {trunk0, trunk1}, deg(1.0));
  set(Channel::ArmInclination, {arm0, arm1}, deg(2.0));
  set(Channel::ShoulderElevation,
      {shoulder_elevation(trunk0, arm0), shoulder_elevation(trunk1, arm1)}, deg(2.0));
  set(Channel::Depth, {-0.3, 0.05}, 0.01);
  out.events.bottom_frame = out.events.end_frame = 1;
  return out;
}

TEST(ShoulderSplit, DemandsWhatTheTrunkLeansAndGivesNothingForAnArmThatStaysUpright) {
  const TwoFrames t = leaning(deg(4), deg(38), deg(1), deg(1));
  const Repetition r = assemble_repetition(t.series, t.events);
  EXPECT_NEAR(r.shoulder_change_demanded.value, deg(34), 1e-12);
  EXPECT_NEAR(r.shoulder_change_given.value, 0, 1e-12);
}

TEST(ShoulderSplit, IsNegativeWhenTheArmTipsForward) {
  const TwoFrames t = leaning(deg(4), deg(38), deg(1), deg(16));
  const Repetition r = assemble_repetition(t.series, t.events);
  EXPECT_NEAR(r.shoulder_change_demanded.value, deg(34), 1e-12);
  EXPECT_NEAR(r.shoulder_change_given.value, deg(-15), 1e-12);
}

TEST(ShoulderSplit, SumsToTheMeasuredChange) {
  Random random(9);
  for (int i = 0; i < 50; ++i) {
    const TwoFrames t = leaning(random.uniform(-0.2, 0.3), random.uniform(0, 1.2),
                                random.uniform(-0.3, 0.3), random.uniform(-0.5, 0.8));
    const Repetition r = assemble_repetition(t.series, t.events);
    EXPECT_NEAR(r.shoulder_change_demanded.value + r.shoulder_change_given.value,
                r.channels[static_cast<std::size_t>(Channel::ShoulderElevation)].change.value,
                1e-12);
  }
}

TEST(Changes, OfIndependentErrorsAddInSquares) {
  const TwoFrames t = leaning(0, deg(30), 0, 0);
  const Repetition r = assemble_repetition(t.series, t.events);
  const auto& trunk = r.channels[static_cast<std::size_t>(Channel::TrunkInclination)];
  EXPECT_NEAR(trunk.change.standard_error, deg(std::sqrt(2.0)), 1e-12);
  EXPECT_NEAR(trunk.change.value, deg(30), 1e-12);
  EXPECT_NEAR(trunk.bottom.standard_error, deg(1), 1e-12);
}

TEST(Changes, AreFreeOfErrorsThatAllFramesShare) {
  const TwoFrames t = leaning(0, deg(30), 0, 0);
  CurveErrors errors;
  errors.common_standard_error[static_cast<std::size_t>(Channel::TrunkInclination)] = deg(0.8);
  const Repetition r = assemble_repetition(t.series, t.events, errors);
  // Each frame: 1.0^2 = 0.8^2 + 0.6^2; the difference keeps twice 0.6^2.
  EXPECT_NEAR(r.channels[0].change.standard_error, deg(0.6 * std::sqrt(2.0)), 1e-12);
}

// First-order error propagation against a simulation with the same covariance.
TEST(Changes, WithCovarianceAgreeWithSimulation) {
  TwoFrames t = leaning(deg(3), deg(33), deg(1), deg(9));
  const double rho = 0.7;
  CurveErrors errors;
  errors.covariance = [&](Channel a, std::size_t i, Channel b,
                          std::size_t k) -> std::optional<double> {
    if (a != b) return 0.0;
    const double s = a == Channel::TrunkInclination ? deg(1) : deg(2);
    return i == k ? s * s : rho * s * s;
  };
  const Repetition r = assemble_repetition(t.series, t.events, errors);
  Random random(21);
  double squares = 0;
  constexpr int kDraws = 20000;
  for (int i = 0; i < kDraws; ++i) {
    const double shared = random.normal(), own0 = random.normal(), own1 = random.normal();
    const double e0 = deg(2) * (std::sqrt(rho) * shared + std::sqrt(1 - rho) * own0);
    const double e1 = deg(2) * (std::sqrt(rho) * shared + std::sqrt(1 - rho) * own1);
    squares += (e1 - e0) * (e1 - e0);
  }
  const double simulated = std::sqrt(squares / kDraws);
  EXPECT_NEAR(r.shoulder_change_given.standard_error, simulated, 0.03 * simulated);
}

TEST(Changes, OfAnImpossibleCovarianceAreNotNegative) {
  const TwoFrames t = leaning(0, deg(30), 0, 0);
  CurveErrors errors;
  errors.covariance = [](Channel, std::size_t, Channel, std::size_t) -> std::optional<double> {
    return 1.0;
  };
  EXPECT_EQ(assemble_repetition(t.series, t.events, errors).channels[0].change.standard_error, 0.0);
}

TEST(AssembleRepetition, TakesValuesAtStartAndBottomAndKnowsBelowParallel) {
  const TwoFrames t = leaning(0, deg(30), 0, 0);
  const Repetition r = assemble_repetition(t.series, t.events);
  EXPECT_TRUE(r.below_parallel);
  EXPECT_TRUE(std::isnan(r.channels[static_cast<std::size_t>(Channel::BarX)].bottom.value));
}

TEST(AssembleRepetitions, FindsFillsAndSummarises) {
  std::array<Series, kChannelCount> series;
  std::vector<double> time, height, knee, trunk;
  for (int i = 0; i < 600; ++i) {
    const double t = i / 60.0;
    const double s =
        t < 0.5 || t > 9.5 ? 0 : std::pow(std::sin((t - 0.5) * std::numbers::pi / 3), 2);
    const double more = t < 3.5 ? 0 : t < 6.5 ? deg(2) : deg(4);  // leans more each time
    time.push_back(t);
    height.push_back(0.92 - 0.5 * s);
    knee.push_back(deg(120) * s);
    trunk.push_back((deg(30) + more) * s);
  }
  series[static_cast<std::size_t>(Channel::HipHeight)] = constant_error(height, 0.01);
  series[static_cast<std::size_t>(Channel::KneeFlexion)] = constant_error(knee, deg(2));
  series[static_cast<std::size_t>(Channel::TrunkInclination)] = constant_error(trunk, deg(1));
  const auto found = assemble_repetitions(time, series);
  ASSERT_TRUE(found.has_value());
  ASSERT_EQ(found->size(), 3u);
  EXPECT_NEAR(time[(*found)[1].bottom_frame], 5.0, 0.02);
  const Consistency c = compute_consistency(*found);
  EXPECT_EQ(c.repetitions, 3);
  // 30, 32, 34 degrees: mean 32, standard deviation 2.
  EXPECT_NEAR(c.bottom[0].value, deg(32), deg(0.05));
  EXPECT_NEAR(c.bottom[0].standard_error, deg(2), deg(0.05));
  EXPECT_TRUE(std::isnan(c.bottom[static_cast<std::size_t>(Channel::BarX)].value));
}

TEST(AssembleRepetitions, WithoutHipHeightGivesNone) {
  std::array<Series, kChannelCount> series;
  const auto found = assemble_repetitions(std::vector<double>{0, 1, 2}, series);
  ASSERT_TRUE(found.has_value());
  EXPECT_TRUE(found->empty());
  EXPECT_EQ(compute_consistency({}).repetitions, 0);
}

TEST(Consistency, OfOneRepetitionHasNoDeviation) {
  const TwoFrames t = leaning(0, deg(30), 0, 0);
  const std::vector<Repetition> one = {assemble_repetition(t.series, t.events)};
  const Consistency c = compute_consistency(one);
  EXPECT_NEAR(c.bottom[0].value, deg(30), 1e-12);
  EXPECT_TRUE(std::isnan(c.bottom[0].standard_error));
}

}  // namespace
}  // namespace lintel::kinematics
