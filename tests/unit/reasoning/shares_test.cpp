#include "reasoning/shares.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <gtest/gtest.h>

#include "support/posture_population.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

constexpr double kDegree = kRadiansPerDegree;

Comparison random_comparison(std::uint64_t index) {
  const test::PostureCase c = test::random_posture_case(11, index);
  Comparison out;
  out.body = c.body;
  out.today = c.setup;
  out.limits_today = c.limits;
  out.limits_reference = reference_mobility(c.limits, c.body.lengths);
  out.best = c.setup;
  out.best.stance_width = 0.40;
  out.best.toe_out = 25.0 * kDegree;
  return out;
}

TEST(Shares, SumToTheWholeForAnyAthlete) {
  int checked = 0;
  for (std::uint64_t index = 0; index < 40; ++index) {
    const auto table = evaluate_all(random_comparison(index));
    if (!table) continue;  // a setup that these arms cannot take
    const Shares shares = compute_shares(*table, 0.7);
    EXPECT_NEAR(std::accumulate(shares.parts.begin(), shares.parts.end(), 0.0), shares.whole, 1e-9);
    EXPECT_NEAR(shares.whole, 0.7 - shares.reference, 1e-12);
    const Shares bare = compute_shares(*table, std::nullopt);
    EXPECT_NEAR(std::accumulate(bare.parts.begin(), bare.parts.end(), 0.0),
                bare.most_upright - bare.reference, 1e-9);
    ++checked;
  }
  EXPECT_GT(checked, 25);
}

TEST(Shares, HaveAValueForEveryCoalitionEvenWhereTestsExcludeEachOther) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 18);
  test::set_test(athlete, body::MobilityTest::HipFlexion, 90);
  test::set_test(athlete, body::MobilityTest::ShoulderFlexion, 140);
  const auto c = test::reasoning_case(athlete);
  const auto plain = posture::Model::create(c.body, athlete.setup, c.limits.limits).value();
  ASSERT_EQ(posture::solve_most_upright(plain).outcome, posture::Outcome::Infeasible);
  const CoalitionTable table = evaluate_all(c.comparison).value();
  EXPECT_TRUE(table.postures.back().stretched);
  EXPECT_FALSE(table.postures.front().stretched);
  EXPECT_EQ(table.unconverged, 0);
  for (const Evaluated& posture : table.postures) EXPECT_TRUE(std::isfinite(posture.lean()));
  EXPECT_GT(table.postures.back().lean(), table.postures.front().lean() + 20.0 * kDegree);
}

TEST(Shares, SkippingWhatCannotMoveGivesTheSameAsSolvingEverything) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 33);
  test::set_test(athlete, body::MobilityTest::ArmToWallTurnedOut, 15);
  const auto c = test::reasoning_case(athlete);
  const CoalitionTable table = evaluate_all(c.comparison).value();
  EXPECT_LT(table.solves, 300);
  for (unsigned s = 0; s < kCoalitionCount; s += 7) {
    const Evaluated cold = evaluate_coalition(c.comparison, s, nullptr).value();
    EXPECT_NEAR(table.postures[s].lean(), cold.lean(), 1e-6) << "coalition " << s;
    EXPECT_NEAR(table.postures[s].trunk_inclination, cold.trunk_inclination, 1e-5);
  }
}

TEST(Shares, GiveNothingToWhatIsAsInTheReference) {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 34);
  const auto first = test::reasoning_case(athlete);
  athlete.setup = first.comparison.best;  // the best setup already
  auto c = test::reasoning_case(athlete).comparison;
  c.best = c.today;
  const Shares shares = compute_shares(evaluate_all(c).value(), std::nullopt);
  for (const Factor lever : {Factor::Stance, Factor::ToeOut, Factor::Heel, Factor::Grip}) {
    EXPECT_EQ(shares.parts[index_of(lever)], 0.0);
  }
  EXPECT_GT(shares.parts[index_of(Factor::Ankle)], 4.0 * kDegree);
  EXPECT_NEAR(shares.parts[index_of(Factor::Ankle)], shares.whole, 0.5 * kDegree);
}

TEST(Shares, HabitIsWhatTheBodyDoesNotForceAndLeavesTheOtherPartsAlone) {
  const auto c = test::reasoning_case(test::ordinary_athlete());
  const CoalitionTable table = evaluate_all(c.comparison).value();
  const Shares a = compute_shares(table, 40.0 * kDegree);
  const Shares b = compute_shares(table, 50.0 * kDegree);
  EXPECT_NEAR(b.parts[index_of(Factor::Habit)] - a.parts[index_of(Factor::Habit)], 10.0 * kDegree,
              1e-12);
  for (std::size_t i = 0; i < kPhysicalFactorCount; ++i) EXPECT_EQ(a.parts[i], b.parts[i]);
  const Shares more_upright = compute_shares(table, a.most_upright - 5.0 * kDegree);
  EXPECT_NEAR(more_upright.parts[index_of(Factor::Habit)], -5.0 * kDegree, 1e-12);
}

TEST(Lean, DoesNotRewardAStopThatOnlyHoldsTheTrunkUp) {
  // Stiff shoulders over a stiff ankle: the trunk comes up, other joints are stretched for it.
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 33);
  const auto free = test::reasoning_case(athlete);
  test::set_test(athlete, body::MobilityTest::ShoulderFlexion, 160);
  const auto stiff = test::reasoning_case(athlete);
  const auto a = evaluate_most_upright(free.body, athlete.setup, free.limits.limits).value();
  const auto b = evaluate_most_upright(stiff.body, athlete.setup, stiff.limits.limits).value();
  EXPECT_LT(b.trunk_inclination, a.trunk_inclination - 2.0 * kDegree);
  EXPECT_GT(b.strain, a.strain);
  EXPECT_GT(b.lean(), a.lean() - 0.5 * kDegree);
}

TEST(BestSetup, IsNoWorseThanTodayAndWithinTheAllowedRange) {
  for (const double ankle : {28.0, 36.0, 45.0}) {
    body::Athlete athlete = test::ordinary_athlete();
    test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, ankle);
    const auto c = test::reasoning_case(athlete);
    const auto best = find_best_setup(c.body, athlete.setup, c.limits.limits, c.allowed).value();
    const auto today = evaluate_most_upright(c.body, athlete.setup, c.limits.limits).value();
    EXPECT_LE(best.lean, today.lean() + 1e-9);
    for (const Factor lever : {Factor::Stance, Factor::ToeOut, Factor::Heel, Factor::Grip}) {
      body::Setup setup = best.setup;
      EXPECT_TRUE(c.allowed[lever].contains(lever_of(setup, lever))) << factor_name(lever);
    }
    // No single step of a fiftieth of a range is better by more than the search's own grain.
    for (const Factor lever : {Factor::Stance, Factor::ToeOut, Factor::Heel}) {
      for (const double sign : {-1.0, 1.0}) {
        body::Setup setup = best.setup;
        const Range& range = c.allowed[lever];
        double& value = lever_of(setup, lever);
        value = std::clamp(value + sign * 0.02 * (range.high - range.low), range.low, range.high);
        const auto beside = evaluate_most_upright(c.body, setup, c.limits.limits).value();
        EXPECT_GT(beside.lean(), best.lean - 0.1 * kDegree) << factor_name(lever);
      }
    }
  }
}

TEST(AllowedSetup, NamesTheRangeThatIsWrong) {
  const auto c = test::reasoning_case(test::ordinary_athlete());
  AllowedSetup allowed = c.allowed;
  allowed.stance_width = {0.5, 0.4};
  const auto result = find_best_setup(c.body, c.comparison.today, c.limits.limits, allowed);
  ASSERT_FALSE(result);
  EXPECT_EQ(result.error().code, ErrorCode::Invalid);
  EXPECT_EQ(result.error().place.field, "allowed.stance_width");
}

}  // namespace
}  // namespace lintel::reasoning
