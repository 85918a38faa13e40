// What must hold for every table of ratings. 3,000 random tables, among them ones of small whole
// numbers, where ties and zeros are many.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "base/random.h"
#include "reliability/bland_altman.h"
#include "reliability/icc.h"
#include "reliability/measurement_error.h"

namespace lintel::reliability {
namespace {

constexpr int kTables = 3000;

Eigen::MatrixXd random_table(Random& random) {
  const int n = 2 + static_cast<int>(random.uniform(0, 12));
  const int k = 2 + static_cast<int>(random.uniform(0, 5));
  const bool whole = random.uniform() < 0.4;
  const double between = std::exp(random.uniform(-2, 3)), within = std::exp(random.uniform(-3, 2));
  const double mean = random.uniform(-50, 100), shift = random.uniform() < 0.5 ? 0 : 2;
  Eigen::MatrixXd out(n, k);
  for (int i = 0; i < n; ++i) {
    const double person = random.normal(mean, between);
    for (int j = 0; j < k; ++j) {
      out(i, j) = person + shift * j + random.normal(0, within);
      if (whole) out(i, j) = std::round(out(i, j));
    }
  }
  return out;
}

// Calls check for every usable table; most must be.
template <typename Check>
void for_tables(Check check) {
  int usable = 0;
  for (int i = 0; i < kTables; ++i) {
    Random random(1979, static_cast<std::uint64_t>(i));
    const Eigen::MatrixXd ratings = random_table(random);
    const auto anova = analyse_variance(ratings);
    if (!anova) continue;
    ++usable;
    SCOPED_TRACE(i);
    check(ratings, *anova, random);
    if (testing::Test::HasFailure()) return;
  }
  EXPECT_GT(usable, kTables * 9 / 10);
}

TEST(ReliabilityProperties, SumsOfSquaresAddUpToTheWhole) {
  for_tables([](const Eigen::MatrixXd& ratings, const view::Anova& a, Random&) {
    const double whole = (ratings.array() - ratings.mean()).square().sum();
    EXPECT_NEAR(a.between_subjects.sum_of_squares + a.between_raters.sum_of_squares +
                    a.residual.sum_of_squares,
                whole, 1e-9 * whole);
    EXPECT_NEAR(a.within.sum_of_squares,
                a.between_raters.sum_of_squares + a.residual.sum_of_squares, 1e-9 * whole);
  });
}

TEST(ReliabilityProperties, EveryCoefficientIsANumberInsideItsInterval) {
  for_tables([](const Eigen::MatrixXd&, const view::Anova& a, Random&) {
    for (const view::Icc& icc : intraclass_correlations(a)) {
      EXPECT_FALSE(std::isnan(icc.value));
      // With F below 1 the denominator of form two may come near zero (icc.h).
      EXPECT_TRUE(icc.value <= 1 + 1e-12 || icc.f < 1) << icc.value;
      EXPECT_GE(icc.p, 0);
      EXPECT_LE(icc.p, 1);
    }
    // Forms one and three: the interval comes of the same F and must hold the value. The interval
    // of form two is an approximation and may fail to for a hopeless table.
    const auto icc = intraclass_correlations(a);
    for (const auto form : {view::IccForm::OneSingle, view::IccForm::ThreeSingle,
                            view::IccForm::OneMean, view::IccForm::ThreeMean}) {
      const view::Icc& c = icc[static_cast<std::size_t>(form)];
      EXPECT_LE(c.interval95.lower, c.value + 1e-12);
      EXPECT_GE(c.interval95.upper, c.value - 1e-12);
    }
    for (const auto form : {view::IccForm::TwoSingle, view::IccForm::TwoMean}) {
      const view::Icc& c = icc[static_cast<std::size_t>(form)];
      EXPECT_FALSE(std::isnan(c.interval95.lower));
      EXPECT_FALSE(std::isnan(c.interval95.upper));
    }
  });
}

TEST(ReliabilityProperties, ShiftAndScaleOfAllRatingsChangeNoCoefficient) {
  for_tables([](const Eigen::MatrixXd& ratings, const view::Anova& a, Random& random) {
    const double scale = -std::exp(random.uniform(-2, 2));
    const Eigen::MatrixXd other = scale * ratings.array() + random.uniform(-10, 10);
    const auto b = analyse_variance(other);
    ASSERT_TRUE(b) << b.error();
    const auto x = intraclass_correlations(a), y = intraclass_correlations(*b);
    for (std::size_t i = 0; i < x.size(); ++i) {
      if (x[i].f < 1) continue;
      EXPECT_NEAR(x[i].value, y[i].value, 1e-7 * std::max(1.0, std::abs(x[i].value)));
    }
    EXPECT_NEAR(error_of_measurement(other, *b).from_residual,
                -scale * error_of_measurement(ratings, a).from_residual, 1e-6);
  });
}

TEST(ReliabilityProperties, TheOrderOfSubjectsAndRatersDoesNotMatter) {
  for_tables([](const Eigen::MatrixXd& ratings, const view::Anova& a, Random&) {
    const Eigen::MatrixXd turned = ratings.rowwise().reverse().colwise().reverse();
    const auto b = analyse_variance(turned);
    ASSERT_TRUE(b);
    const auto x = intraclass_correlations(a), y = intraclass_correlations(*b);
    for (std::size_t i = 0; i < x.size(); ++i) {
      if (x[i].f < 1) continue;
      EXPECT_NEAR(x[i].value, y[i].value, 1e-9 * std::max(1.0, std::abs(x[i].value)));
    }
  });
}

TEST(ReliabilityProperties, TwoColumnsGiveTheSameErrorByVarianceAndByDifferences) {
  for_tables([](const Eigen::MatrixXd& ratings, const view::Anova& a, Random&) {
    if (ratings.cols() != 2) return;
    const Eigen::VectorXd first = ratings.col(0), second = ratings.col(1);
    const auto size = static_cast<std::size_t>(ratings.rows());
    const auto agreement = agreement_of({first.data(), size}, {second.data(), size});
    if (!agreement) {  // differences all equal
      EXPECT_EQ(a.residual.sum_of_squares, 0);
      return;
    }
    EXPECT_NEAR(agreement->sem_from_differences, std::sqrt(a.residual.mean_square), 1e-9);
    // The paired t test is the F test of the raters.
    EXPECT_NEAR(agreement->t * agreement->t, a.between_raters.mean_square / a.residual.mean_square,
                1e-6 * (1 + agreement->t * agreement->t));
    EXPECT_LE(agreement->upper_limit_95_exact.lower, agreement->limits.upper);
    EXPECT_GE(agreement->upper_limit_95_exact.upper, agreement->limits.upper);
  });
}

// Coverage of the exact interval of form one: nominal 95 % in 4,000 tables of known ICC 0.7.
TEST(ReliabilityProperties, IntervalsOfFormOneHoldTheTruthAsOftenAsTheySay) {
  int held = 0;
  constexpr int kRuns = 4000;
  for (int i = 0; i < kRuns; ++i) {
    Random random(86, static_cast<std::uint64_t>(i));
    Eigen::MatrixXd ratings(12, 3);
    for (int s = 0; s < 12; ++s) {
      const double person = random.normal(0, std::sqrt(0.7));
      for (int r = 0; r < 3; ++r) ratings(s, r) = random.normal(person, std::sqrt(0.3));
    }
    const auto anova = analyse_variance(ratings);
    ASSERT_TRUE(anova);
    const view::Bounds interval = intraclass_correlations(*anova)[0].interval95;
    held += interval.lower <= 0.7 && 0.7 <= interval.upper ? 1 : 0;
  }
  // Three standard errors of a share of 0.95 in 4,000 runs are 0.010.
  EXPECT_NEAR(held / static_cast<double>(kRuns), 0.95, 0.0105);
}

}  // namespace
}  // namespace lintel::reliability
