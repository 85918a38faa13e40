#include "reliability/bland_altman.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <array>
#include <limits>
#include <vector>

namespace lintel::reliability {
namespace {

using testing::HasSubstr;

TEST(AgreementOf, DifferencesAreSecondLessFirst) {
  const std::vector<double> first = {1, 2, 3, 4}, second = {2, 4, 4, 6};
  const auto a = agreement_of(first, second);
  ASSERT_TRUE(a) << a.error();
  EXPECT_DOUBLE_EQ(a->mean_difference, 1.5);
  EXPECT_NEAR(a->sd_difference, std::sqrt(1.0 / 3), 1e-15);
}

TEST(AgreementOf, SwappedColumnsMirrorEveryNumber) {
  const std::vector<double> first = {10.2, 11.9, 9.4, 13.1, 8.8},
                            second = {10.9, 11.2, 9.9, 14.0, 9.7};
  const auto a = agreement_of(first, second), b = agreement_of(second, first);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->lower_limit_95_exact.lower, -b->upper_limit_95_exact.upper, 1e-9);
  EXPECT_NEAR(a->lower_limit_95_exact.upper, -b->upper_limit_95_exact.lower, 1e-9);
  EXPECT_NEAR(a->lower_limit_95.lower, -b->upper_limit_95.upper, 1e-12);
  EXPECT_NEAR(*a->proportional_bias, -*b->proportional_bias, 1e-12);
  EXPECT_NEAR(a->t_p, b->t_p, 1e-15);
  EXPECT_NEAR(*a->correlation, *b->correlation, 1e-15);
}

TEST(AgreementOf, ADifferenceThatGrowsWithTheMeanIsFound) {
  const std::vector<double> first = {10, 20, 30, 40}, second = {11, 22.1, 32.9, 44};
  const auto a = agreement_of(first, second);
  ASSERT_TRUE(a);
  EXPECT_NEAR(*a->proportional_bias, 0.1, 0.01);
  EXPECT_LT(*a->proportional_bias_p, 0.01);
}

TEST(AgreementOf, TwoPairsHaveLimitsAndNoRegression) {
  const std::vector<double> first = {10, 20}, second = {11, 23};
  const auto a = agreement_of(first, second);
  ASSERT_TRUE(a);
  EXPECT_FALSE(a->proportional_bias);
  EXPECT_GT(a->upper_limit_95_exact.upper, a->limits.upper);
}

TEST(AgreementOf, AConstantColumnHasNoCorrelation) {
  const std::vector<double> first = {10, 10, 10}, second = {11, 12, 10.5};
  const auto a = agreement_of(first, second);
  ASSERT_TRUE(a);
  EXPECT_FALSE(a->correlation);
}

TEST(AgreementOf, UnusableColumnsAreRefused) {
  const std::vector<double> one = {1}, two = {1, 2}, three = {1, 2, 3};
  const std::vector<double> gap = {1, std::numeric_limits<double>::quiet_NaN(), 3};
  const std::vector<double> shifted = {2.1, 3.1, 4.1};
  EXPECT_THAT(agreement_of(one, one).error().message, HasSubstr("fewer than two"));
  EXPECT_THAT(agreement_of(two, three).error().message, HasSubstr("differ in length"));
  EXPECT_EQ(agreement_of(three, gap).error().place.field, "row 2");
  EXPECT_THAT(agreement_of(three, shifted).error().message, HasSubstr("all differences are equal"));
  EXPECT_THAT(agreement_of(three, three).error().message, HasSubstr("all differences are equal"));
}

}  // namespace
}  // namespace lintel::reliability
