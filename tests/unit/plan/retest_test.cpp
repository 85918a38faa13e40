#include "plan/retest.h"

#include <gtest/gtest.h>

#include <cmath>

#include "plan/follow_up.h"

namespace lintel::plan {
namespace {

constexpr double kDeg = kRadiansPerDegree;

// Chronic calf stretching: +5.17 (4.39 to 5.95) deg (Medeiros et al. 2018, Foot 34:28-35); its
// length is put at six or eight weeks. Ankle test, intra-rater MDC 4.7 deg (Powden et al. 2015, Man
// Ther 20(4):524-532), taken as the error of the mean of three tries, none of it trial error: the
// careful reading.
body::MeasurementError ankle_error() {
  return {body::error_from_detectable_change(4.7 * kDeg), 0.0};
}

TEST(EarliestRetest, OfCalfStretchingIsInWeeksSixToEight) {
  const auto six = earliest_retest({5.17 * kDeg, 0, 6}, ankle_error());
  EXPECT_TRUE(six.detectable);
  EXPECT_EQ(six.weeks, 6);
  EXPECT_NEAR(six.detectable_change, 4.7 * kDeg, 1e-12);
  EXPECT_NEAR(six.expected_gain, 5.17 * kDeg, 1e-12);
  const auto eight = earliest_retest({5.17 * kDeg, 0, 8}, ankle_error());
  EXPECT_TRUE(eight.detectable);
  EXPECT_EQ(eight.weeks, 8);
}

TEST(EarliestRetest, AfterFourWeeksCannotUsuallyShowIt) {
  EXPECT_LT(expected_gain({5.17 * kDeg, 0, 6}, 4), 4.7 * kDeg);
}

TEST(EarliestRetest, AveragedTriesBringItForward) {
  // The same total error of one try, half of its variance from try to try.
  const double sem = body::error_from_detectable_change(4.7 * kDeg);
  const body::MeasurementError parts{sem * std::sqrt(0.5), sem * std::sqrt(0.5)};
  const PublishedGain gain{5.17 * kDeg, 0, 6};
  EXPECT_EQ(earliest_retest(gain, parts, {1, 2, 12}).weeks, 6);
  EXPECT_EQ(earliest_retest(gain, parts, {3, 2, 12}).weeks, 5);
}

TEST(EarliestRetest, SaysWhenNothingCanBeSeenAndHowManyTriesWouldHelp) {
  const PublishedGain small{2.07 * kDeg, 0, 6};  // up to 15 min in all (Radford et al. 2006)
  const auto never = earliest_retest(small, ankle_error());
  EXPECT_FALSE(never.detectable);
  EXPECT_EQ(never.weeks, 12);
  EXPECT_FALSE(never.trials_needed);
  const auto helped = earliest_retest(small, {0.0, 1.2 * kDeg}, {1, 2, 12});
  EXPECT_FALSE(helped.detectable);
  EXPECT_EQ(helped.trials_needed, 3);  // 1.96 sqrt(2) 1.2 / sqrt(3) = 1.92 < 2.07 < 2.35 of two
}

TEST(EarliestRetest, IsNeverBeforeTheShortestTime) {
  EXPECT_EQ(earliest_retest({30 * kDeg, 0, 1}, ankle_error()).weeks, 2);
  EXPECT_EQ(earliest_retest({30 * kDeg, 0, 1}, ankle_error(), {3, 0, 0}).weeks, 1);
}

TEST(EarliestRetest, NothingIsPromisedBeyondThePublishedTrials) {
  const PublishedGain gain{4.0 * kDeg, 0, 6};
  EXPECT_DOUBLE_EQ(expected_gain(gain, 3), 2.0 * kDeg);
  EXPECT_DOUBLE_EQ(expected_gain(gain, 60), 4.0 * kDeg);
  EXPECT_EQ(expected_gain(gain, -1), 0);
  EXPECT_EQ(expected_gain({4.0, 0, 0}, 3), 0);
  EXPECT_FALSE(earliest_retest(gain, ankle_error(), {3, 2, 52}).detectable);
}

// 1.72 cm and 1.68 cm both read "1.7 cm": the sentence must not call one more than the other.
TEST(RetestReason, NeverHoldsANumberAgainstItself) {
  RetestAdvice advice;
  advice.expected_gain = 0.0172;
  advice.detectable_change = 0.0168;
  advice.detectable = true;
  EXPECT_EQ(retest_reason(advice, true),
            "By then a gain just above the 1.7 cm that the test can show is expected; earlier a "
            "difference would be noise.");
  advice.detectable = false;
  std::swap(advice.expected_gain, advice.detectable_change);
  EXPECT_EQ(retest_reason(advice, true),
            "The expected gain stays just below the 1.7 cm that the test can show: this re-test "
            "only watches that nothing gets worse.");
  advice.expected_gain = 0.0004;
  EXPECT_EQ(retest_reason(advice, true),
            "Next to no gain is expected by then: this re-test only watches that nothing gets "
            "worse.");
}

TEST(RetestReason, SaysBothNumbersWhereTheyDiffer) {
  RetestAdvice advice;
  advice.expected_gain = 7.8 * kDeg;
  advice.detectable_change = 6.4 * kDeg;
  advice.detectable = true;
  EXPECT_EQ(retest_reason(advice, false),
            "By then a gain of 7.8 degrees is expected, more than the 6.4 degrees that the test "
            "can show; earlier a difference would be noise.");
}

// Ankle by angle and by distance: Powden et al. 2015; thoracic rotation: Johnson et al. 2012.
TEST(JudgeChange, SaysDetectableOnlyBeyondTheDetectableChange) {
  const auto judge = [](double change, double mdc) {
    return judge_change(change, mdc, body::Better::Higher);
  };
  using V = ChangeVerdict;
  EXPECT_EQ(judge(4.0, 4.7), V::NoDetectableChange);
  EXPECT_EQ(judge(5.2, 4.7), V::Improved);
  EXPECT_EQ(judge(1.2, 1.9), V::NoDetectableChange);
  EXPECT_EQ(judge(2.0, 1.9), V::Improved);
  EXPECT_EQ(judge(5.0, 5.6), V::NoDetectableChange);
  EXPECT_EQ(judge(6.0, 5.6), V::Improved);
  EXPECT_EQ(judge(4.7, 4.7), V::NoDetectableChange);
  EXPECT_EQ(judge(-5.2, 4.7), V::Worse);
  EXPECT_EQ(judge_change(-5.2, 4.7, body::Better::Lower), V::Improved);
  EXPECT_EQ(judge_change(-5.2, 4.7, body::Better::Neither), V::Changed);
}

}  // namespace
}  // namespace lintel::plan
