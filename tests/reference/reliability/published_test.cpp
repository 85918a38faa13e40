// Against what is printed in the papers.
#include <gtest/gtest.h>

#include <array>

#include "body/measurement_error.h"
#include "reliability/bland_altman.h"
#include "reliability/icc.h"
#include "reliability/tester_error.h"
#include "tables.h"

namespace lintel::reliability {
namespace {

// Shrout PE, Fleiss JL, Psychol Bull 1979;86(2):420-428: table 2 (ratings), 3 (mean squares) and 4.
TEST(ShroutFleiss1979, PrintedMeanSquaresAndCoefficientsComeOut) {
  const auto anova = analyse_variance(test::read_ratings("shrout-fleiss-1979-ratings.csv"));
  ASSERT_TRUE(anova) << anova.error();
  EXPECT_NEAR(anova->between_subjects.mean_square, 11.2417, 0.0005);
  EXPECT_NEAR(anova->within.mean_square, 6.2639, 0.0005);
  EXPECT_NEAR(anova->between_raters.mean_square, 32.4861, 0.0005);
  EXPECT_NEAR(anova->residual.mean_square, 1.0194, 0.0005);
  const auto icc = intraclass_correlations(*anova);
  const double computed[] = {.1657, .2898, .7148, .4428, .6201, .9093};
  const double printed[] = {.17, .29, .71, .44, .62, .91};
  for (std::size_t i = 0; i < icc.size(); ++i) {
    EXPECT_NEAR(icc[i].value, computed[i], 0.0005) << view::icc_form_name(view::IccForm(i));
    EXPECT_NEAR(icc[i].value, printed[i], 0.005) << view::icc_form_name(view::IccForm(i));
  }
}

// Bland JM, Altman DG, Lancet 1986;327(8476):307-310: peak flow of 17 people [l/min].
constexpr std::array<double, 17> kLarge = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                                           433, 417, 656, 267, 478, 178, 423, 427};
constexpr std::array<double, 17> kMini = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                                          445, 432, 626, 260, 477, 259, 350, 451};
constexpr std::array<double, 17> kLargeAgain = {490, 397, 512, 401, 470, 611, 415, 431, 638,
                                                429, 420, 633, 275, 492, 165, 372, 421};

TEST(BlandAltman1986, PeakFlowMetersDifferAsPrinted) {
  const auto a = agreement_of(kMini, kLarge);  // large less mini, as in the paper
  ASSERT_TRUE(a) << a.error();
  EXPECT_NEAR(a->mean_difference, -2.118, 0.02);
  EXPECT_NEAR(a->sd_difference, 38.765, 0.02);
  EXPECT_NEAR(a->limits_1_96.lower, -78.10, 0.02);
  EXPECT_NEAR(a->limits_1_96.upper, 73.86, 0.02);
  // The paper itself goes two standard deviations either way, from rounded numbers.
  EXPECT_NEAR(a->mean_difference - 2 * a->sd_difference, -79.7, 0.15);
  EXPECT_NEAR(a->mean_difference + 2 * a->sd_difference, 75.5, 0.15);
  // Its standard errors: 9.4 of the bias and 16.3 of a limit (from memory).
  EXPECT_NEAR(a->se_mean_difference, 9.4, 0.05);
  EXPECT_NEAR(a->se_limit_approx, 16.3, 0.05);
}

TEST(BlandAltman1986, RepeatabilityOfTheLargeMeterComesOut) {
  std::vector<std::vector<double>> groups;
  for (std::size_t i = 0; i < kLarge.size(); ++i) groups.push_back({kLarge[i], kLargeAgain[i]});
  const auto own = pool_repeats(groups);
  ASSERT_TRUE(own) << own.error();
  EXPECT_NEAR(own->standard_deviation, 15.31, 0.005);
  EXPECT_EQ(own->degrees_of_freedom, 17);
}

// Johnson KD et al., J Athl Train 2012;47(1):52-60: thoracic rotation, degrees.
TEST(Johnson2012, DetectableChangesFollowFromTheStandardErrors) {
  const struct {
    double sem, computed, printed;
  } rows[] = {{1.0, 2.77, 2.8}, {2.3, 6.38, 6.3}, {1.4, 3.88, 3.9}, {2.0, 5.54, 5.6}};
  for (const auto& row : rows) {
    const double mdc = body::minimal_detectable_change(row.sem, row.sem);
    EXPECT_NEAR(mdc, row.computed, 0.01);
    EXPECT_NEAR(mdc, row.printed, 0.1);
    EXPECT_NEAR(body::error_from_detectable_change(mdc), row.sem, 1e-12);
  }
}

// Kolber MJ et al., Physiother Theory Pract 2011;27(2):176-184 gives MDC90 = 8 degrees.
TEST(Kolber2011, Mdc90OfEightDegreesIsMdc95OfNineAndAHalf) {
  const double sem = body::error_from_detectable_change(8.0, body::Confidence::Percent90);
  EXPECT_NEAR(body::minimal_detectable_change(sem, sem), 9.53, 0.005);
}

// Konor MM et al., IJSPT 2012;7(3):279-287: knee to wall, tape [cm] and inclinometer [deg].
TEST(Konor2012, DetectableChangesFollowFromTheStandardErrors) {
  EXPECT_NEAR(body::minimal_detectable_change(0.4, 0.4), 1.1, 0.05);
  EXPECT_NEAR(body::minimal_detectable_change(1.8, 1.8), 5.0, 0.05);
  EXPECT_NEAR(body::minimal_detectable_change(2.8, 2.8), 7.7, 0.1);
}

}  // namespace
}  // namespace lintel::reliability
