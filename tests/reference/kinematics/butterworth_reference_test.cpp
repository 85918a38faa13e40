// Against SciPy 1.10.1 (tests/data/signal, see its README) and published numbers.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>

#include "kinematics/butterworth.h"
#include "reference/kinematics/mocap.h"

namespace lintel::kinematics {
namespace {

using testing::data_path;

class ZeroLagReference : public ::testing::Test {
 protected:
  std::map<std::string, std::vector<double>> column_ = [] {
    // The second derivative has "nan" at the ends, which stod reads.
    return testing::read_number_csv(data_path("signal/butterworth-60hz-6hz.csv"));
  }();

  void expect_equal(const std::vector<double>& ours, const std::string& name, double tolerance) {
    const std::vector<double>& theirs = column_.at(name);
    ASSERT_EQ(ours.size(), theirs.size());
    double worst = 0;
    for (std::size_t i = 0; i < ours.size(); ++i) {
      worst = std::max(worst, std::abs(ours[i] - theirs[i]));
    }
    RecordProperty("worst_" + name, std::to_string(worst));
    EXPECT_LT(worst, tolerance) << name;
  }
};

struct Design {
  double b0, b1, b2, a1, a2, zi0, zi1, pass_cutoff, gain;
};

std::map<std::string, Design> read_designs() {
  std::ifstream file(data_path("signal/butterworth-coefficients.csv"));
  std::string line, cell;
  std::getline(file, line);
  std::map<std::string, Design> out;
  while (std::getline(file, line)) {
    std::stringstream row(line);
    std::string name;
    std::getline(row, name, ',');
    std::vector<double> v;
    while (std::getline(row, cell, ',')) v.push_back(std::stod(cell));
    out[name] = {v.at(1), v.at(2), v.at(3), v.at(5), v.at(6), v.at(7), v.at(8), v.at(0), v.at(9)};
  }
  return out;
}

TEST_F(ZeroLagReference, CoefficientsEqualScipysToTwelveDigits) {
  const auto designs = read_designs();
  ASSERT_EQ(designs.size(), 3u);
  for (const auto& [name, theirs] : designs) {
    const auto ours = name == "corrected"
                          ? design_low_pass(6.0, 60.0, CutoffMeaning::BothPasses)
                          : design_low_pass(theirs.pass_cutoff, 60.0, CutoffMeaning::OnePass);
    ASSERT_TRUE(ours.has_value()) << name;
    EXPECT_NEAR(ours->b[0], theirs.b0, 1e-12) << name;
    EXPECT_NEAR(ours->b[1], theirs.b1, 1e-12) << name;
    EXPECT_NEAR(ours->b[2], theirs.b2, 1e-12) << name;
    EXPECT_NEAR(ours->a[1], theirs.a1, 1e-12) << name;
    EXPECT_NEAR(ours->a[2], theirs.a2, 1e-12) << name;
    EXPECT_NEAR(ours->zi[0], theirs.zi0, 1e-12) << name;
    EXPECT_NEAR(ours->zi[1], theirs.zi1, 1e-12) << name;
    EXPECT_NEAR(ours->pass_cutoff_hz, theirs.pass_cutoff, 1e-10) << name;
    EXPECT_NEAR(two_pass_gain(*ours, 6.0, 60.0), theirs.gain, 1e-12) << name;
  }
}

TEST_F(ZeroLagReference, FilteredSignalsEqualScipysToNineDigits) {
  const std::vector<double>& x = column_.at("x");
  const auto corrected = design_low_pass(6.0, 60.0);
  const auto uncorrected = design_low_pass(6.0, 60.0, CutoffMeaning::OnePass);
  const auto winter = design_low_pass(6.0 / 0.802, 60.0, CutoffMeaning::OnePass);
  ASSERT_TRUE(corrected && uncorrected && winter);
  expect_equal(filter_zero_lag(*corrected, x), "y_corrected_filtfilt_odd9", 1e-9);
  expect_equal(filter_zero_lag(*corrected, x), "y_corrected_sosfiltfilt_odd9", 1e-9);
  expect_equal(filter_zero_lag(*corrected, x, 60), "y_corrected_filtfilt_odd60", 1e-9);
  expect_equal(filter_zero_lag(*uncorrected, x), "y_uncorrected_filtfilt_odd9", 1e-9);
  expect_equal(filter_zero_lag(*winter, x), "y_winter802_filtfilt_odd9", 1e-9);
  expect_equal(filter_forward(*corrected, x), "y_corrected_nopad_forward", 1e-9);
}

TEST_F(ZeroLagReference, CurveFilterAndDerivativeEqualScipys) {
  CurveFilterOptions options;
  options.cutoff_hz = 6.0;
  const auto y = filter_curve(column_.at("t_s"), column_.at("x"), options);
  ASSERT_TRUE(y.has_value());
  expect_equal(y->value, "y_corrected_filtfilt_odd9", 1e-9);
  // Time is printed to 15 digits, which central differences divide by: 1e-9 of 1e2.
  expect_equal(derivative(column_.at("t_s"), y->value), "dy_central", 1e-9);
}

TEST_F(ZeroLagReference, ErrorAgainstTheCleanSignalIsTheOneStated) {
  const auto corrected = design_low_pass(6.0, 60.0);
  ASSERT_TRUE(corrected.has_value());
  const auto y = filter_zero_lag(*corrected, column_.at("x"));
  double raw = 0, filtered = 0;
  for (std::size_t i = 0; i < y.size(); ++i) {
    raw += std::pow(column_.at("x")[i] - column_.at("clean")[i], 2);
    filtered += std::pow(y[i] - column_.at("clean")[i], 2);
  }
  // tests/data/signal/README.md: raw 1.69 deg, filtered 0.59 deg.
  EXPECT_NEAR(std::sqrt(raw / 300), 1.69, 0.005);
  EXPECT_NEAR(std::sqrt(filtered / 300), 0.59, 0.005);
}

TEST_F(ZeroLagReference, ResidualAnalysisFindsTheNoiseOfTheSignal) {
  const ResidualAnalysis analysis = residual_analysis(column_.at("x"), 60.0, {2.0, 12.0, 0.25});
  // The noise that was added: N(0, 1.5) and a sine of amplitude 1.2 at 17 Hz. The tail is taken
  // from 12 to 24 Hz, which holds the sine: the level lies between the white part and the whole.
  EXPECT_GT(analysis.noise, 1.0);
  EXPECT_LT(analysis.noise, std::hypot(1.5, 1.2 / std::sqrt(2.0)) * 1.25);
  EXPECT_GE(analysis.cutoff_hz, 2.0);
  EXPECT_LE(analysis.cutoff_hz, 12.0);
}

// Winter, Biomechanics and Motor Control of Human Movement, ch. 3: C = (2^(1/2) - 1)^(1/4) =
// 0.8022; single-pass design cut-offs for 6 Hz at usual rates follow by the bilinear transform.
TEST(WinterCutoffCorrection, GivesTheDesignCutoffsAndHalfPowerAtTheCutoff) {
  const std::map<double, double> design = {
      {30.0, 7.0275}, {60.0, 7.3495}, {120.0, 7.4454}, {240.0, 7.4705}};
  for (const auto& [rate, expected] : design) {
    const auto filter = design_low_pass(6.0, rate);
    ASSERT_TRUE(filter.has_value());
    EXPECT_NEAR(filter->pass_cutoff_hz, expected, 1e-4) << rate;
    EXPECT_NEAR(two_pass_gain(*filter, 6.0, rate), 0.70711, 1e-5) << rate;
    EXPECT_NEAR(two_pass_gain(*filter, 0.0, rate), 1.0, 1e-12) << rate;
  }
}

}  // namespace
}  // namespace lintel::kinematics
