#include "reliability/tester_error.h"

#include <gtest/gtest.h>

#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <limits>

#include "base/random.h"

namespace lintel::reliability {
namespace {

TEST(PoolRepeats, PoolsOverPeopleWithTheirDegreesOfFreedom) {
  const auto own = pool_repeats({{10, 12}, {20, 21, 22}, {5}});
  ASSERT_TRUE(own) << own.error();
  EXPECT_EQ(own->degrees_of_freedom, 3);
  EXPECT_DOUBLE_EQ(own->standard_deviation, std::sqrt((2.0 + 2.0) / 3));
}

TEST(PoolRepeats, NobodyMeasuredTwiceIsRefused) {
  EXPECT_FALSE(pool_repeats({{1}, {2}}));
  EXPECT_FALSE(pool_repeats({}));
  const auto bad = pool_repeats({{1, 2}, {3, std::numeric_limits<double>::infinity()}});
  ASSERT_FALSE(bad);
  EXPECT_EQ(bad.error().place.field, "group 2, repeat 2");
}

// The closed form against the density itself: prior times likelihood, integrated numerically.
TEST(UpdateError, EqualsTheIntegralOfPriorTimesLikelihood) {
  const double published = 2.0, df0 = 10, own = 3.1, df = 14;
  const auto e = update_error(published, df0, {own, df});
  ASSERT_TRUE(e) << e.error();
  // Up to a constant, in the variance v; scaled by its value near the top against underflow.
  const auto log_density = [&](double v) {
    const double prior = -(df0 / 2 + 1) * std::log(v) - df0 * published * published / (2 * v);
    const double likelihood = -(df / 2) * std::log(v) - df * own * own / (2 * v);
    return prior + likelihood;
  };
  const double top = log_density(e->updated * e->updated);
  const auto integrate = [&](auto f, double from, double to) {
    return boost::math::quadrature::gauss_kronrod<double, 61>::integrate(
        [&](double v) { return f(v) * std::exp(log_density(v) - top); }, from, to, 15, 1e-13);
  };
  const double inf = std::numeric_limits<double>::infinity();
  const double all = integrate([](double) { return 1.0; }, 1e-9, inf);
  const double worse = integrate([](double) { return 1.0; }, published * published, inf);
  EXPECT_NEAR(e->probability_worse, worse / all, 1e-9);
  const double low = integrate([](double) { return 1.0; }, 1e-9, std::pow(e->updated_95.lower, 2));
  const double high = integrate([](double) { return 1.0; }, 1e-9, std::pow(e->updated_95.upper, 2));
  EXPECT_NEAR(low / all, 0.025, 1e-9);
  EXPECT_NEAR(high / all, 0.975, 1e-9);
  // Mean of a scaled inverse chi-square: df s^2 / (df - 2).
  const double mean = integrate([](double v) { return v; }, 1e-9, inf) / all;
  EXPECT_NEAR(mean, e->updated_df * e->updated * e->updated / (e->updated_df - 2), 1e-8 * mean);
}

TEST(UpdateError, LiesBetweenPublishedAndOwnAndLeansToTheLarger) {
  const auto few = update_error(1.7, 10, {3.0, 4}), many = update_error(1.7, 10, {3.0, 80});
  ASSERT_TRUE(few && many);
  EXPECT_GT(few->updated, 1.7);
  EXPECT_LT(few->updated, many->updated);
  EXPECT_LT(many->updated, 3.0);
  EXPECT_DOUBLE_EQ(many->own_share, 80.0 / 90);
  EXPECT_LT(many->updated_95.upper - many->updated_95.lower,
            few->updated_95.upper - few->updated_95.lower);
}

TEST(UpdateError, ManyRepeatsFindTheTestersOwnError) {
  Random random(41);
  std::vector<std::vector<double>> groups;
  for (int i = 0; i < 2000; ++i) {
    const double person = random.normal(40, 6);
    groups.push_back({random.normal(person, 1.1), random.normal(person, 1.1)});
  }
  const auto own = pool_repeats(groups);
  ASSERT_TRUE(own);
  const auto e = update_error(2.0, kPublishedDegreesOfFreedom, *own);
  ASSERT_TRUE(e);
  EXPECT_NEAR(e->updated, 1.1, 0.05);
  EXPECT_LT(e->probability_worse, 1e-6);
}

TEST(UpdateError, IdenticalRepeatsDoNotMakeTheErrorVanish) {
  const auto e = update_error(1.7, 10, {0.0, 2});
  ASSERT_TRUE(e);
  EXPECT_GT(e->updated, 1.5);
}

TEST(UpdateError, UnusableNumbersAreRefused) {
  EXPECT_EQ(update_error(0, 10, {1, 3}).error().place.field, "published");
  EXPECT_EQ(update_error(1, 0, {1, 3}).error().place.field, "published_df");
  EXPECT_EQ(update_error(1, 10, {1, 0}).error().place.field, "own");
  EXPECT_FALSE(update_error(std::nan(""), 10, {1, 3}));
}

}  // namespace
}  // namespace lintel::reliability
