#include "kinematics/butterworth.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>

#include "base/random.h"

namespace lintel::kinematics {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

std::vector<double> sampled(const std::vector<double>& time, auto&& f) {
  std::vector<double> out;
  for (const double t : time) out.push_back(f(t));
  return out;
}
std::vector<double> uniform_times(double rate, int count) {
  std::vector<double> time;
  for (int i = 0; i < count; ++i) time.push_back(i / rate);
  return time;
}

TEST(DesignLowPass, RefusesCutoffsOutsideOfTheRange) {
  for (const double bad : {0.0, -1.0, 30.0, 40.0, kNan}) {
    const auto result = design_low_pass(bad, 60.0);
    ASSERT_FALSE(result.has_value()) << bad;
    EXPECT_EQ(result.error().code, ErrorCode::Invalid);
    EXPECT_FALSE(result.error().mend.empty());
  }
  EXPECT_FALSE(design_low_pass(6.0, kNan).has_value());
  EXPECT_FALSE(design_low_pass(6.0, std::numeric_limits<double>::infinity()).has_value());
}

TEST(ZeroLag, KeepsConstantsAndStraightLines) {
  const auto filter = design_low_pass(5.0, 60.0);
  ASSERT_TRUE(filter.has_value());
  const auto time = uniform_times(60, 100);
  const auto line = sampled(time, [](double t) { return 3.0 - 2.0 * t; });
  const auto filtered = filter_zero_lag(*filter, line);
  const auto constant = filter_zero_lag(*filter, std::vector<double>(50, 1.5));
  for (const double y : constant) EXPECT_NEAR(y, 1.5, 1e-12);
  for (std::size_t i = 10; i < 90; ++i) EXPECT_NEAR(filtered[i], line[i], 1e-3);
}

TEST(ZeroLag, PassesASineWithItsTwoPassGainAndNoLag) {
  const auto filter = design_low_pass(6.0, 120.0);
  ASSERT_TRUE(filter.has_value());
  const auto time = uniform_times(120, 600);
  for (const double frequency : {1.0, 6.0, 12.0}) {
    const auto x =
        sampled(time, [&](double t) { return std::sin(2 * std::numbers::pi * frequency * t); });
    const auto y = filter_zero_lag(*filter, x);
    const double gain = two_pass_gain(*filter, frequency, 120.0);
    for (std::size_t i = 150; i < 450; ++i) EXPECT_NEAR(y[i], gain * x[i], 2e-3) << frequency;
  }
}

TEST(ZeroLag, SurvivesShortSignals) {
  const auto filter = design_low_pass(6.0, 60.0);
  ASSERT_TRUE(filter.has_value());
  for (std::size_t n = 0; n < 12; ++n) {
    const auto y = filter_zero_lag(*filter, std::vector<double>(n, 2.0));
    ASSERT_EQ(y.size(), n);
    for (const double v : y) EXPECT_NEAR(v, 2.0, 1e-12);
  }
}

TEST(ResidualAnalysis, ChoosesHigherCutoffsForFasterMovementsAndStaysInItsRange) {
  const auto time = uniform_times(60, 360);
  double before = 0;
  for (const double frequency : {0.5, 1.5, 3.0}) {
    Random random(11);
    const auto x = sampled(time, [&](double t) {
      return 30 * std::sin(2 * std::numbers::pi * frequency * t) + random.normal(0, 1.0);
    });
    const auto analysis = residual_analysis(x, 60.0, {1.0, 15.0, 0.25});
    EXPECT_GT(analysis.cutoff_hz, before) << frequency;
    // The intercept of Winter's line estimates the RMS of the noise, here 1.
    EXPECT_NEAR(analysis.noise, 1.0, 0.2);
    before = analysis.cutoff_hz;
  }
  Random random(5);
  const auto still = sampled(time, [&](double) { return random.normal(0, 1.0); });
  const auto clamped = residual_analysis(still, 60.0);
  EXPECT_TRUE(clamped.clamped);
  EXPECT_EQ(clamped.cutoff_hz, CutoffRange{}.lowest_hz);
}

TEST(ResidualAnalysis, OfAShortOrSlowClipTakesTheHighestCutoffAllowed) {
  EXPECT_EQ(residual_analysis(std::vector<double>(10, 1.0), 60.0).cutoff_hz,
            CutoffRange{}.highest_hz);
  EXPECT_NEAR(residual_analysis(std::vector<double>(10, 1.0), 10.0).cutoff_hz, 4.0, 1e-12);
}

TEST(FilterCurve, OfAVariableFrameRateFollowsTheUniformOne) {
  Random random(3);
  std::vector<double> time;
  for (double t = 0; t < 6; t += random.uniform(0.010, 0.024)) time.push_back(t);
  const auto movement = [](double t) { return std::pow(std::sin(0.9 * t), 2); };
  const auto x = sampled(time, [&](double t) { return movement(t) + random.normal(0, 0.02); });
  CurveFilterOptions options;
  options.cutoff_hz = 4.0;
  const auto y = filter_curve(time, x, options);
  ASSERT_TRUE(y.has_value());
  double worst = 0;
  for (std::size_t i = 10; i + 10 < time.size(); ++i) {  // the ends are noisier in any filter
    worst = std::max(worst, std::abs(y->value[i] - movement(time[i])));
  }
  EXPECT_LT(worst, 0.03);
  EXPECT_NEAR(y->noise, 0.02, 0.005);
}

TEST(FilterCurve, BridgesShortGapsAndLeavesLongOnesOpen) {
  const auto time = uniform_times(60, 200);
  auto x = sampled(time, [](double t) { return t * t; });
  for (std::size_t i = 50; i < 55; ++i) x[i] = kNan;    // 0.1 s
  for (std::size_t i = 100; i < 140; ++i) x[i] = kNan;  // 0.67 s
  x[0] = kNan;
  const auto y = filter_curve(time, x, {.cutoff_hz = 8.0});
  ASSERT_TRUE(y.has_value());
  EXPECT_TRUE(std::isnan(y->value[0]));
  for (std::size_t i = 50; i < 55; ++i) EXPECT_NEAR(y->value[i], time[i] * time[i], 5e-3);
  for (std::size_t i = 100; i < 140; ++i) EXPECT_TRUE(std::isnan(y->value[i]));
  EXPECT_NEAR(y->value[150], time[150] * time[150], 5e-3);
}

TEST(FilterCurve, WithNothingKnownStaysEmptyOfNumbers) {
  const auto time = uniform_times(30, 20);
  const auto y = filter_curve(time, std::vector<double>(20, kNan));
  ASSERT_TRUE(y.has_value());
  for (const double v : y->value) EXPECT_TRUE(std::isnan(v));
  EXPECT_TRUE(filter_curve({}, {}).has_value());
  EXPECT_EQ(filter_curve(time, std::vector<double>(20, 1.0))->value.size(), 20u);
}

TEST(FilterCurve, RefusesTimeThatStandsStillAndNamesTheFrame) {
  const std::vector<double> time = {0, 0.1, 0.1, 0.2};
  const auto y = filter_curve(time, std::vector<double>(4, 1.0));
  ASSERT_FALSE(y.has_value());
  EXPECT_EQ(y.error().code, ErrorCode::Invalid);
  EXPECT_EQ(y.error().place.frame, 2);
  EXPECT_FALSE(filter_curve(time, std::vector<double>(3, 1.0)).has_value());
}

TEST(Derivative, OfAParabolaIsExactOnUnevenTime) {
  const std::vector<double> time = {0, 0.1, 0.25, 0.3, 0.5, 0.55};
  const auto x = sampled(time, [](double t) { return 1 + 2 * t - 3 * t * t; });
  const auto d = derivative(time, x);
  for (std::size_t i = 1; i + 1 < time.size(); ++i) EXPECT_NEAR(d[i], 2 - 6 * time[i], 1e-12);
}

TEST(Derivative, IsOneSidedBesideMissingValues) {
  const std::vector<double> time = {0, 1, 2, 3, 4};
  const auto d = derivative(time, std::vector<double>{0, 2, kNan, 5, kNan});
  EXPECT_EQ(d[0], 2);
  EXPECT_EQ(d[1], 2);
  EXPECT_TRUE(std::isnan(d[2]));
  EXPECT_TRUE(std::isnan(d[3]));
  EXPECT_TRUE(std::isnan(d[4]));
}

TEST(MedianRate, IsTheInverseOfTheMedianStep) {
  EXPECT_NEAR(median_rate(std::vector<double>{0, 0.02, 0.04, 0.06, 0.5}), 50.0, 1e-9);
  EXPECT_EQ(median_rate(std::vector<double>{0}), 0);
}

}  // namespace
}  // namespace lintel::kinematics
