#include "reliability/icc.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "reliability/measurement_error.h"

namespace lintel::reliability {
namespace {

using testing::HasSubstr;

Eigen::MatrixXd table(std::initializer_list<std::initializer_list<double>> rows) {
  Eigen::MatrixXd out(static_cast<Eigen::Index>(rows.size()),
                      static_cast<Eigen::Index>(rows.begin()->size()));
  Eigen::Index i = 0;
  for (const auto& row : rows) {
    Eigen::Index j = 0;
    for (const double value : row) out(i, j++) = value;
    ++i;
  }
  return out;
}

TEST(AnalyseVariance, SumsOfSquaresOfASmallTableAreThoseByHand) {
  // Subject means 2, 5; rater means 3, 4; grand mean 3.5; residuals +-0.5.
  const auto a = analyse_variance(table({{2, 2}, {4, 6}}));
  ASSERT_TRUE(a) << a.error();
  EXPECT_DOUBLE_EQ(a->grand_mean, 3.5);
  EXPECT_DOUBLE_EQ(a->between_subjects.sum_of_squares, 9);
  EXPECT_DOUBLE_EQ(a->between_raters.sum_of_squares, 1);
  EXPECT_DOUBLE_EQ(a->residual.sum_of_squares, 1);
  EXPECT_DOUBLE_EQ(a->within.mean_square, 1);
}

TEST(AnalyseVariance, OneRaterIsRefusedWithWhatToDo) {
  const auto a = analyse_variance(table({{1}, {2}, {3}}));
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().code, ErrorCode::Invalid);
  EXPECT_EQ(a.error().place.field, "raters");
  EXPECT_THAT(a.error().mend, HasSubstr("twice"));
}

TEST(AnalyseVariance, OneSubjectIsRefused) {
  const auto a = analyse_variance(table({{1, 2, 3}}));
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().place.field, "subjects");
}

TEST(AnalyseVariance, ConstantRatingsAreRefused) {
  const auto a = analyse_variance(table({{36.7, 36.7}, {36.7, 36.7}, {36.7, 36.7}}));
  ASSERT_FALSE(a);
  EXPECT_THAT(a.error().message, HasSubstr("equal"));
}

TEST(AnalyseVariance, SubjectsThatDoNotDifferAreRefused) {
  const auto a = analyse_variance(table({{1, 3}, {3, 1}, {2, 2}}));
  ASSERT_FALSE(a);
  EXPECT_THAT(a.error().message, HasSubstr("same mean"));
}

TEST(AnalyseVariance, AMissingCellIsRefusedWithItsPlace) {
  const auto a =
      analyse_variance(table({{1, 3}, {3, std::numeric_limits<double>::quiet_NaN()}, {2, 2}}));
  ASSERT_FALSE(a);
  EXPECT_EQ(a.error().place.field, "row 2, column 2");
  EXPECT_FALSE(analyse_variance(table({{1, 3}, {std::numeric_limits<double>::infinity(), 2}})));
}

TEST(AnalyseVariance, NumbersThatOverflowAreRefused) {
  EXPECT_FALSE(analyse_variance(table({{1e200, -1e200}, {3e200, 1e200}})));
}

TEST(AnalyseVariance, ALargeOffsetCostsNoDigits) {
  const Eigen::MatrixXd small = table({{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}});
  const Eigen::MatrixXd far = small.array() + 1e6;
  const auto a = analyse_variance(small), b = analyse_variance(far);
  ASSERT_TRUE(a && b);
  EXPECT_NEAR(a->residual.mean_square, b->residual.mean_square, 1e-9 * a->residual.mean_square);
}

TEST(IntraclassCorrelations, PerfectAgreementIsOneEverywhere) {
  // Sums like 36.8 + 0.1 leave rounding behind, which must not count as disagreement.
  const auto a =
      analyse_variance(table({{36.8, 36.8, 36.8}, {41.1, 41.1, 41.1}, {30.3, 30.3, 30.3}}));
  ASSERT_TRUE(a) << a.error();
  for (const view::Icc& icc : intraclass_correlations(*a)) {
    EXPECT_EQ(icc.value, 1);
    EXPECT_EQ(icc.p, 0);
    EXPECT_TRUE(std::isinf(icc.f));
    EXPECT_EQ(icc.interval95.lower, 1);
    EXPECT_EQ(icc.interval95.upper, 1);
  }
}

TEST(IntraclassCorrelations, ASteadyShiftLowersAgreementAndNotConsistency) {
  const auto a = analyse_variance(table({{1, 3}, {2, 4}, {5, 7}, {9, 11}}));
  ASSERT_TRUE(a);
  const auto icc = intraclass_correlations(*a);
  EXPECT_EQ(icc[static_cast<std::size_t>(view::IccForm::ThreeSingle)].value, 1);
  const view::Icc& two = icc[static_cast<std::size_t>(view::IccForm::TwoSingle)];
  // By hand: subjects' mean square 2 * 38.75 / 3, raters' 8, residual 0.
  const double ms_b = 2 * 38.75 / 3;
  EXPECT_NEAR(two.value, ms_b / (ms_b + 2 * 8.0 / 4), 1e-12);
  EXPECT_GT(two.interval95.upper, two.value);
  EXPECT_LT(two.interval95.lower, two.value);
}

TEST(ErrorOfMeasurement, OfPerfectAgreementIsZero) {
  const Eigen::MatrixXd ratings = table({{36.8, 36.8}, {41.1, 41.1}, {30.3, 30.3}});
  const auto a = analyse_variance(ratings);
  ASSERT_TRUE(a);
  const auto e = error_of_measurement(ratings, *a);
  EXPECT_EQ(e.from_residual, 0);
  EXPECT_EQ(e.mdc95, 0);
  EXPECT_EQ(e.from_icc31, 0);
  EXPECT_GT(e.sd_all, 0);
}

TEST(ErrorOfMeasurement, HasNoCoefficientOfVariationAroundZero) {
  const Eigen::MatrixXd ratings = table({{-1, -2}, {1, 0}, {-4, -3}});
  const auto a = analyse_variance(ratings);
  ASSERT_TRUE(a);
  EXPECT_FALSE(error_of_measurement(ratings, *a).coefficient_of_variation);
}

}  // namespace
}  // namespace lintel::reliability
