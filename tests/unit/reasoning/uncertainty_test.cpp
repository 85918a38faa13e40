#include "reasoning/uncertainty.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <numeric>

#include <gtest/gtest.h>

#include "jobs/thread_pool.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

constexpr double kDegree = kRadiansPerDegree;

UncertainInput input_of(const body::Athlete& athlete, std::optional<Estimate> observed) {
  const auto c = test::reasoning_case(athlete);
  return {c.body, athlete.setup, c.comparison.best, c.limits, observed, std::nullopt, 0.0};
}

body::Athlete stiff_athlete() {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 34);
  test::set_test(athlete, body::MobilityTest::ArmToWallTurnedOut, 12);
  return athlete;
}

Uncertainty run(const UncertainInput& input, Executor& executor, int draws, std::uint64_t seed) {
  const auto table = evaluate_all(mean_comparison(input)).value();
  return compute_uncertainty(input, table, {draws, seed}, executor, {}).value();
}

TEST(Uncertainty, SameSeedGivesTheSameBitsForOneTwoAndFourThreads) {
  const auto input = input_of(stiff_athlete(), test::degrees_of(38, 1.5));
  SerialExecutor one;
  jobs::ThreadPool two(2), four(4);
  const Uncertainty a = run(input, one, 410, 7);
  const Uncertainty b = run(input, two, 410, 7);
  const Uncertainty c = run(input, four, 410, 7);
  static_assert(std::is_trivially_copyable_v<decltype(a.parts)>);
  EXPECT_EQ(std::memcmp(&a.parts, &b.parts, sizeof a.parts), 0);
  EXPECT_EQ(std::memcmp(&a.parts, &c.parts, sizeof a.parts), 0);
  EXPECT_EQ(a.probability_largest, b.probability_largest);
  EXPECT_EQ(a.probability_largest, c.probability_largest);
  EXPECT_EQ(a.spread_by_limit, c.spread_by_limit);
  EXPECT_EQ(a.most_upright.low, c.most_upright.low);
  const Uncertainty other = run(input, one, 410, 8);
  EXPECT_NE(a.most_upright.mean, other.most_upright.mean);
}

TEST(Uncertainty, ProbabilitiesSumToOneAndIntervalsHoldTheMean) {
  SerialExecutor one;
  const Uncertainty u = run(input_of(stiff_athlete(), test::degrees_of(38, 1.5)), one, 300, 1);
  EXPECT_NEAR(std::accumulate(u.probability_largest.begin(), u.probability_largest.end(), 0.0), 1.0,
              1e-9);
  for (const Spread& part : u.parts) {
    EXPECT_LE(part.low, part.mean + 1e-12);
    EXPECT_GE(part.high, part.mean - 1e-12);
  }
  double sum = 0.0;
  for (const Spread& part : u.parts) sum += part.mean;
  EXPECT_NEAR(sum, u.whole.mean, 1e-9);
}

TEST(Uncertainty, HabitIsNeverTheLargestWithoutAnObservation) {
  SerialExecutor one;
  const Uncertainty u = run(input_of(stiff_athlete(), std::nullopt), one, 100, 1);
  EXPECT_EQ(u.probability_largest[index_of(Factor::Habit)], 0.0);
  EXPECT_EQ(u.parts[index_of(Factor::Habit)].mean, 0.0);
}

TEST(Uncertainty, ABetterTestNarrowsTheAnswer) {
  body::Athlete athlete = stiff_athlete();
  using body::MobilityTest;
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {test::degrees_of(34, 4), std::nullopt};
  SerialExecutor one;
  const Uncertainty wide = run(input_of(athlete, std::nullopt), one, 300, 1);
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {test::degrees_of(34, 0.5), std::nullopt};
  const Uncertainty narrow = run(input_of(athlete, std::nullopt), one, 300, 1);
  const std::size_t ankle = index_of(Factor::Ankle);
  EXPECT_LT(narrow.parts[ankle].standard_deviation, 0.6 * wide.parts[ankle].standard_deviation);
  const auto limit = static_cast<std::size_t>(posture::Limit::AnkleDorsiflexion);
  EXPECT_LT(narrow.spread_by_limit[limit], 0.5 * wide.spread_by_limit[limit]);
}

TEST(Uncertainty, SharesOfADrawAreCloseToTheExactOnesOfTheSameDraw) {
  const auto input = input_of(stiff_athlete(), std::nullopt);
  const Comparison mean = mean_comparison(input);
  const CoalitionTable table = evaluate_all(mean).value();
  const DrawShares shares(mean, table);
  double worst_mean = 0.0;
  constexpr int kDraws = 25;
  std::array<double, kPhysicalFactorCount> difference{};
  for (std::uint64_t k = 0; k < kDraws; ++k) {
    const Draw draw = draw_comparison(input, 3, k);
    const Shares quick = shares.compute(draw).value().shares;
    const Shares exact = compute_shares(evaluate_all(draw.comparison).value(), std::nullopt);
    EXPECT_NEAR(quick.whole, exact.whole, 1e-6);
    for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) {
      difference[i] += std::abs(quick.parts[i] - exact.parts[i]) / kDraws;
    }
  }
  for (const double d : difference) worst_mean = std::max(worst_mean, d);
  std::printf("mean absolute difference of the worst factor: %.3f deg\n", worst_mean / kDegree);
  EXPECT_LT(worst_mean, 0.5 * kDegree);
}

TEST(Uncertainty, TheMeanAthleteIsExact) {
  const auto input = input_of(stiff_athlete(), test::degrees_of(40));
  const Comparison mean = mean_comparison(input);
  const CoalitionTable table = evaluate_all(mean).value();
  Draw draw;
  draw.comparison = mean;
  draw.observed = 40.0 * kDegree;
  const Shares quick = DrawShares(mean, table).compute(draw).value().shares;
  const Shares exact = compute_shares(table, 40.0 * kDegree);
  for (std::size_t i = 0; i < kFactorCount; ++i) {
    EXPECT_NEAR(quick.parts[i], exact.parts[i], 1e-6);
  }
}

TEST(Uncertainty, StopsWhenAskedTo) {
  const auto input = input_of(stiff_athlete(), std::nullopt);
  const auto table = evaluate_all(mean_comparison(input)).value();
  SerialExecutor one;
  std::stop_source stop;
  int reports = 0;
  const WorkContext work{stop.get_token(), [&](const Progress&) {
                           if (++reports == 2) stop.request_stop();
                         }};
  const auto result = compute_uncertainty(input, table, {100000, 1}, one, work);
  ASSERT_FALSE(result);
  EXPECT_EQ(result.error().code, ErrorCode::Cancelled);
  EXPECT_EQ(reports, 2);
}

TEST(Uncertainty, RefusesANumberOfDrawsOutOfRange) {
  const auto input = input_of(stiff_athlete(), std::nullopt);
  const auto table = evaluate_all(mean_comparison(input)).value();
  SerialExecutor one;
  for (const int draws : {0, -5, 2000000}) {
    const auto result = compute_uncertainty(input, table, {draws, 1}, one, {});
    ASSERT_FALSE(result);
    EXPECT_EQ(result.error().place.field, "draws");
  }
}

}  // namespace
}  // namespace lintel::reasoning
