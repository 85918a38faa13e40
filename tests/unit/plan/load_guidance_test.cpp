#include "plan/load_guidance.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "base/random.h"

namespace lintel::plan {
namespace {

using testing::HasSubstr;

LoadQuestion ready(double overhead_squat) {
  LoadQuestion q;
  q.best[Lift::OverheadSquat] = overhead_squat;
  q.position_held = true;
  return q;
}

TEST(AdviseLoads, GoesStageByStageFromTheEmptyBar) {
  const LoadAdvice advice = advise_loads(ready(80), 8);
  ASSERT_TRUE(advice.allowed);
  ASSERT_EQ(advice.weeks.size(), 8u);
  // Shares of data/plan/loads.csv: bar, 40, 55, 70, 75 and 80 %; in the lighter weeks 4 and 8 the
  // load stays and the sets are fewer.
  const double masses[] = {20, 30, 42.5, 42.5, 55, 60, 62.5, 62.5};
  for (std::size_t i = 0; i < advice.weeks.size(); ++i) {
    EXPECT_EQ(advice.weeks[i].mass, masses[i]) << i;
  }
  EXPECT_EQ(advice.weeks[0].stage, LoadStage::EmptyBar);
  EXPECT_EQ(advice.weeks[4].stage, LoadStage::Full);
  EXPECT_TRUE(advice.weeks[3].deload);
  EXPECT_EQ(advice.weeks[3].sets, 2);  // of 4, as the moderate stage has them
  EXPECT_THAT(advice.source, HasSubstr("common practice, no source"));
}

TEST(AdviseLoads, ReachesToTheEndOfThePlanOrSaysWhyNot) {
  LoadQuestion q = ready(80);
  EXPECT_EQ(weeks_left(q), std::nullopt);  // without a plan
  q.plan_weeks = 8;
  q.first_week = 3;
  ASSERT_EQ(weeks_left(q), 6);
  const LoadAdvice whole = advise_loads(q, *weeks_left(q));
  ASSERT_EQ(whole.weeks.size(), 6u);
  EXPECT_EQ(whole.weeks.front().plan_week, 3);
  EXPECT_EQ(whole.weeks.back().plan_week, 8);
  EXPECT_EQ(whole.note, "");
  EXPECT_EQ(advise_loads(q, 2).note,
            "Only the coming 2 weeks are shown: the loads after them follow from how these go.");
  q.plan_weeks = 20;
  EXPECT_EQ(weeks_left(q), 12);
  EXPECT_THAT(advise_loads(q, 12).note, HasSubstr("Only the coming 12 weeks"));
  q.first_week = 21;  // over
  EXPECT_EQ(weeks_left(q), std::nullopt);
  EXPECT_EQ(advise_loads(q, 6).weeks.front().plan_week, std::nullopt);
  EXPECT_EQ(advise_loads(q, 6).note, "");
}

TEST(AdviseLoads, StaysWithThePipeUntilThePositionHolds) {
  LoadQuestion q = ready(80);
  q.position_held = false;
  q.good_weeks = 3;
  for (const LoadWeek& week : advise_loads(q, 6).weeks) {
    EXPECT_EQ(week.stage, LoadStage::Pipe);
    EXPECT_EQ(week.mass, 0);
  }
}

TEST(AdviseLoads, StaysWithThePipeWhileThereIsPain) {
  LoadQuestion q = ready(80);
  q.pain = true;
  const LoadAdvice advice = advise_loads(q, 3);
  for (const LoadWeek& week : advice.weeks) EXPECT_EQ(week.mass, 0);
  EXPECT_THAT(advice.why, HasSubstr("pain"));
}

TEST(AdviseLoads, LighterWeeksAreThoseOfThePlan) {
  LoadQuestion q = ready(80);
  q.first_week = 7;
  const LoadAdvice advice = advise_loads(q, 3);
  EXPECT_FALSE(advice.weeks[0].deload);
  EXPECT_TRUE(advice.weeks[1].deload);
  EXPECT_EQ(advice.weeks[1].mass, advice.weeks[0].mass);
}

TEST(AdviseLoads, AWarningSignOrAStopAllowsNothing) {
  for (int i = 0; i <= static_cast<int>(body::WarningSign::BladderOrBowelChange); ++i) {
    LoadQuestion q = ready(80);
    q.warning_signs = {static_cast<body::WarningSign>(i)};
    const LoadAdvice advice = advise_loads(q, 6);
    EXPECT_FALSE(advice.allowed);
    EXPECT_TRUE(advice.weeks.empty());
    EXPECT_THAT(advice.why, HasSubstr("see "));
  }
  LoadQuestion q = ready(80);
  q.stopped = true;
  EXPECT_TRUE(advise_loads(q, 6).weeks.empty());
}

TEST(AdviseLoads, TheBarWaitsUntilItIsLightEnough) {
  // 40 % of 45 kg is 18 kg: a 20 kg bar comes with the light stage only when 55 % (24.75) allows
  // it.
  const LoadAdvice advice = advise_loads(ready(45), 4);
  EXPECT_EQ(advice.weeks[0].stage, LoadStage::Pipe);
  EXPECT_EQ(advice.weeks[1].stage, LoadStage::Pipe);
  EXPECT_EQ(advice.weeks[2].mass, 22.5);
  LoadQuestion light = ready(45);
  light.bar_mass = 15;
  EXPECT_EQ(advise_loads(light, 1).weeks[0].stage, LoadStage::EmptyBar);
}

TEST(AdviseLoads, WithoutTheLiftItselfTheSmallestSuggestionCounts) {
  LoadQuestion q;
  q.position_held = true;
  q.best[Lift::Snatch] = 70;      // worth 70
  q.best[Lift::BackSquat] = 150;  // worth 60
  const LoadAdvice advice = advise_loads(q, 2);
  EXPECT_EQ(advice.reference, Lift::BackSquat);
  EXPECT_DOUBLE_EQ(advice.reference_mass, 60);
  q.best[Lift::OverheadSquat] = 90;
  EXPECT_EQ(advise_loads(q, 2).reference, Lift::OverheadSquat);
}

TEST(AdviseLoads, WithoutAnyLiftThereIsOnlyThePipe) {
  LoadQuestion q;
  q.position_held = true;
  q.best[Lift::Snatch] = -5.0;
  q.best[Lift::BackSquat] = std::numeric_limits<double>::quiet_NaN();
  const LoadAdvice advice = advise_loads(q, 3);
  EXPECT_FALSE(advice.reference);
  for (const LoadWeek& week : advice.weeks) EXPECT_EQ(week.mass, 0);
  EXPECT_THAT(advice.why, HasSubstr("No best lift"));
}

TEST(AdviseLoads, NeverMoreThanFourFifthsOfTheBestForAnyAthlete) {
  for (std::uint64_t i = 0; i < 5000; ++i) {
    Random random(12, i);
    LoadQuestion q;
    for (auto& best : q.best.best) {
      if (random.uniform() < 0.6) best = random.uniform(10, 250);
    }
    q.position_held = random.uniform() < 0.8;
    q.good_weeks = static_cast<int>(random.uniform(0, 20));
    q.bar_mass = random.uniform() < 0.5 ? 15 : 20;
    const LoadAdvice advice = advise_loads(q, static_cast<int>(random.uniform(-2, 20)));
    double last = -1;
    for (const LoadWeek& week : advice.weeks) {
      EXPECT_LE(week.mass, 0.8 * advice.reference_mass + 1e-9);
      EXPECT_LE(week.mass, 0.8 * q.best[Lift::OverheadSquat].value_or(1e9));
      EXPECT_TRUE(week.mass == 0 || week.mass >= q.bar_mass);
      EXPECT_GE(week.mass, last);
      last = week.mass;
    }
    EXPECT_LE(advice.weeks.size(), 12u);
    EXPECT_GE(advice.weeks.size(), 1u);
  }
}

TEST(BestLiftsOf, TakesTheLatestUpToTheDay) {
  const Date start = Date::parse("2026-03-02").value();
  History history;
  history.best_lifts = {
      {start, Lift::Snatch, 70}, {start + 30, Lift::Snatch, 65}, {start + 60, Lift::Snatch, 75}};
  EXPECT_EQ(best_lifts_of(history, start + 40)[Lift::Snatch], 65);
  EXPECT_FALSE(best_lifts_of(history, start - 1)[Lift::Snatch]);
  EXPECT_FALSE(best_lifts_of(history, start + 40)[Lift::BackSquat]);
}

}  // namespace
}  // namespace lintel::plan
