#include "plan/follow_up.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "plan/progression_numbers.h"
#include "plan/test_follow_up.h"

namespace lintel::plan {
namespace {

using testing::HasSubstr;

constexpr double kDeg = kRadiansPerDegree;
const Date kStart = Date::parse("2026-03-02").value();

TestFollowed ankle_test() {
  TestFollowed test;
  test.protocol = "ankle";
  test.name = "Ankle";
  test.error = {1.0 * kDeg, 1.0 * kDeg};
  test.published = PublishedGain{5.17 * kDeg, 0, 6};  // Medeiros et al. 2018
  return test;
}

DrillAsked stretch() {
  DrillAsked drill;
  drill.drill = "stretch";
  drill.name = "Stretch";
  drill.ladder = {{"floor", 3, 7.0, false}, {"step", 3, 7.0, false}, {"loaded", 3, 7.0, true}};
  drill.sets = 3;
  drill.repetitions = 8;
  drill.tests = {"ankle"};
  return drill;
}

AthleteFollowed one_athlete() {
  AthleteFollowed followed;
  followed.drills = {stretch()};
  followed.tests = {ankle_test()};
  followed.sessions_per_week = 3;
  followed.plan_start = kStart;
  return followed;
}

DrillDone good(int step) {
  DrillDone done;
  done.drill = "stretch";
  done.step = step;
  done.sets = 3;
  done.repetitions = 8;
  done.effort = 6;
  done.pain_during = 0;
  done.pain_next_morning = 0;
  return done;
}

void test_on(History& history, int day, double degrees,
             body::TestSide side = body::TestSide::Left) {
  const double v = degrees * kDeg;
  history.tests.push_back({kStart + day, "ankle", side, body::ProtocolUnit::Degrees, {v, v, v}});
}

const WatchItem* find(const FollowUp& follow, Watch watch) {
  const auto found = std::find_if(follow.watch.begin(), follow.watch.end(),
                                  [watch](const WatchItem& item) { return item.watch == watch; });
  return found == follow.watch.end() ? nullptr : &*found;
}

FollowUp run(const AthleteFollowed& followed, const History& history, int day) {
  const auto follow = follow_up(followed, history, kStart + day);
  EXPECT_TRUE(follow) << follow.error();
  return follow.value_or(FollowUp{});
}

TEST(FollowUp, JudgesEachSideAgainstItsDetectableChange) {
  History history;
  test_on(history, 0, 30);
  test_on(history, 0, 31, body::TestSide::Right);
  test_on(history, 42, 36);
  test_on(history, 42, 32, body::TestSide::Right);
  const FollowUp follow = run(one_athlete(), history, 42);
  ASSERT_EQ(follow.changes.size(), 2u);
  EXPECT_EQ(follow.changes[0].verdict, ChangeVerdict::Improved);
  EXPECT_NEAR(follow.changes[0].change, 6 * kDeg, 1e-12);
  EXPECT_EQ(follow.changes[1].verdict, ChangeVerdict::NoDetectableChange);
  EXPECT_NEAR(follow.changes[0].detectable_change,
              body::minimal_detectable_change(follow.changes[0].first_mean.standard_error,
                                              follow.changes[0].latest_mean.standard_error),
              1e-15);
}

TEST(FollowUp, OneSessionIsNoChangeYet) {
  History history;
  test_on(history, 0, 30);
  const FollowUp follow = run(one_athlete(), history, 10);
  EXPECT_EQ(follow.changes.at(0).verdict, ChangeVerdict::OneSession);
  EXPECT_EQ(follow.forecasts.at(0).working, Working::TooEarly);
  EXPECT_NEAR(follow.forecasts.at(0).gain.value, 5.17 * kDeg / 6, 1e-12);  // the expectation
}

TEST(FollowUp, ATestWhereLessIsBetterIsTheMirrorImage) {
  AthleteFollowed higher = one_athlete(), lower = one_athlete();
  higher.tests[0].target = 36 * kDeg;
  lower.tests[0].target = -36 * kDeg;
  lower.tests[0].better = body::Better::Lower;
  History up, down;
  for (const auto& [day, value] : {std::pair(0, 30.0), {28, 32.5}, {56, 34.0}}) {
    test_on(up, day, value);
    test_on(down, day, -value);
  }
  const FollowUp a = run(higher, up, 56), b = run(lower, down, 56);
  EXPECT_DOUBLE_EQ(a.forecasts[0].gain.value, b.forecasts[0].gain.value);
  EXPECT_EQ(a.forecasts[0].likely, b.forecasts[0].likely);
  EXPECT_DOUBLE_EQ(a.forecasts[0].now.value, -b.forecasts[0].now.value);
  EXPECT_EQ(a.changes[0].verdict, b.changes[0].verdict);
}

TEST(FollowUp, SaysEarlyThatItDoesNotWorkAndHoldsTheDrill) {
  History history;
  for (const int day : {0, 14, 28, 42}) test_on(history, day, 30);
  for (const int day : {36, 38, 40}) history.sessions.push_back({kStart + day, {good(0)}});
  const FollowUp follow = run(one_athlete(), history, 42);
  EXPECT_EQ(follow.forecasts[0].working, Working::No);
  EXPECT_LT(follow.forecasts[0].probability_useful, 0.2);
  ASSERT_NE(find(follow, Watch::NotWorking), nullptr);
  EXPECT_EQ(follow.decisions[0].rule, Rule::NotWorking);
  // The same flat readings over two weeks only are too early to say so.
  History early;
  for (const int day : {0, 7, 14}) test_on(early, day, 30);
  EXPECT_EQ(run(one_athlete(), early, 14).forecasts[0].working, Working::TooEarly);
}

TEST(FollowUp, SaysThatItWorksWhenItDoes) {
  History history;
  for (const int week : {0, 3, 6}) test_on(history, 7 * week, 30 + week);
  const FollowUp follow = run(one_athlete(), history, 42);
  EXPECT_EQ(follow.forecasts[0].working, Working::Yes);
  EXPECT_GT(follow.forecasts[0].response->value, 0.9);
}

TEST(FollowUp, DatesOfArrivalComeInOrderAndMoveWithTheTarget) {
  AthleteFollowed followed = one_athlete();
  followed.tests[0].target = 36 * kDeg;
  followed.tests[0].goal_date = kStart + 70;
  History history;
  test_on(history, 0, 30);
  test_on(history, 28, 33);
  const TestForecast near = run(followed, history, 28).forecasts[0];
  ASSERT_TRUE(near.likely && near.nearly_sure);
  EXPECT_LT(*near.likely, *near.nearly_sure);
  EXPECT_FALSE(near.reached);
  EXPECT_GT(*near.probability_at_goal, 0.5);
  followed.tests[0].target = 38 * kDeg;
  const TestForecast far = run(followed, history, 28).forecasts[0];
  EXPECT_GT(*far.likely, *near.likely);
  followed.tests[0].target = 31 * kDeg;
  EXPECT_TRUE(run(followed, history, 28).forecasts[0].reached);
}

TEST(FollowUp, OneHighTestAtTheStartDoesNotCountAsReached) {
  AthleteFollowed followed = one_athlete();
  followed.tests[0].target = 30 * kDeg;
  History history;
  test_on(history, 0, 33);
  for (const int day : {0, 2, 4}) history.sessions.push_back({kStart + day, {good(0)}});
  EXPECT_EQ(run(followed, history, 5).decisions[0].decision, Decision::MoveOn);
  test_on(history, 42, 34);
  for (const int day : {38, 40}) history.sessions.push_back({kStart + day, {good(0)}});
  EXPECT_EQ(run(followed, history, 42).decisions[0].rule, Rule::TargetReached);
}

TEST(FollowUp, RetestsAreAnnouncedAWeekAheadAndThenOverdue) {
  AthleteFollowed followed = one_athlete();
  History history;
  test_on(history, 0, 30);
  // earliest_retest: MDC 1.96 sqrt(2) sqrt(1 + 1/3) = 3.2 deg against 0.86 deg a week: week 4.
  EXPECT_EQ(find(run(followed, history, 20), Watch::RetestDue), nullptr);
  const FollowUp due = run(followed, history, 21);
  ASSERT_NE(find(due, Watch::RetestDue), nullptr);
  EXPECT_EQ(find(due, Watch::RetestDue)->date, kStart + 28);
  EXPECT_NE(find(run(followed, history, 29), Watch::RetestOverdue), nullptr);
  followed.tests[0].retest_due = kStart + 42;  // as the plan has it
  EXPECT_EQ(find(run(followed, history, 29), Watch::RetestOverdue), nullptr);
  test_on(history, 41, 34);  // done: the next one counts from here
  EXPECT_EQ(find(run(followed, history, 43), Watch::RetestOverdue), nullptr);
}

TEST(FollowUp, SaysWhoIsNotTraining) {
  History history;
  for (const int day : {0, 2}) history.sessions.push_back({kStart + day, {good(0)}});
  EXPECT_EQ(find(run(one_athlete(), history, 10), Watch::NotTraining), nullptr);
  const FollowUp follow = run(one_athlete(), history, 15);
  ASSERT_NE(find(follow, Watch::NotTraining), nullptr);
  EXPECT_THAT(find(follow, Watch::NotTraining)->text, HasSubstr("1 of 6 sessions"));
}

TEST(FollowUp, SaysWhatHasStalled) {
  History history;
  for (int day = 0; day <= 30; day += 5) {
    DrillDone hard = good(0);
    hard.effort = 8;
    history.sessions.push_back({kStart + day, {hard}});
  }
  const FollowUp follow = run(one_athlete(), history, 31);
  ASSERT_NE(find(follow, Watch::Stalled), nullptr);
  EXPECT_EQ(find(follow, Watch::Stalled)->date, kStart);
  history.sessions.pop_back();
  history.sessions.pop_back();  // five sessions in three weeks are not enough to say so
  EXPECT_EQ(find(run(one_athlete(), history, 21), Watch::Stalled), nullptr);
}

TEST(FollowUp, ReadyToLoadWhenTheNextStepIsLoaded) {
  History history;
  for (const int day : {0, 2, 4}) history.sessions.push_back({kStart + day, {good(1)}});
  const FollowUp follow = run(one_athlete(), history, 5);
  EXPECT_EQ(follow.decisions[0].decision, Decision::MoveOn);
  ASSERT_NE(find(follow, Watch::ReadyToLoad), nullptr);
  AthleteFollowed hurt = one_athlete();
  hurt.warning_signs = {body::WarningSign::Pain};
  const FollowUp barred = run(hurt, history, 5);
  EXPECT_EQ(find(barred, Watch::ReadyToLoad), nullptr);
  EXPECT_NE(find(barred, Watch::SeeAClinician), nullptr);
  EXPECT_EQ(barred.decisions[0].rule, Rule::NextStepLoaded);
}

TEST(FollowUp, ReadyToLoadAgainAfterReleaseAndCleanSessions) {
  History history;
  DrillDone stopped = good(1);
  stopped.stop_sign = StopSign::Numbness;
  history.sessions.push_back({kStart, {stopped}});
  EXPECT_TRUE(is_stopped(history, kStart));
  EXPECT_NE(find(run(one_athlete(), history, 3), Watch::SeeAClinician), nullptr);
  history.releases = {{kStart + 10, "physician", ""}};
  for (const int day : {11, 13}) history.sessions.push_back({kStart + day, {good(0)}});
  EXPECT_FALSE(is_stopped(history, kStart + 13));
  EXPECT_EQ(find(run(one_athlete(), history, 13), Watch::ReadyToLoad), nullptr);
  history.sessions.push_back({kStart + 15, {good(0)}});
  const FollowUp follow = run(one_athlete(), history, 15);
  ASSERT_NE(find(follow, Watch::ReadyToLoad), nullptr);
  EXPECT_EQ(find(follow, Watch::ReadyToLoad)->about, "");
}

TEST(FollowUp, OneStopIsToldOnceHoweverManyDrillsItStops) {
  AthleteFollowed followed = one_athlete();
  for (const char* id : {"second", "third"}) {
    followed.drills.push_back(stretch());
    followed.drills.back().drill = id;
  }
  History history;
  DrillDone stopped = good(0);
  stopped.stop_sign = StopSign::ChestPain;
  history.sessions.push_back({kStart, {stopped}});
  const auto told = [](const FollowUp& follow) {
    return std::count_if(follow.watch.begin(), follow.watch.end(),
                         [](const WatchItem& item) { return item.watch == Watch::SeeAClinician; });
  };
  const FollowUp own = run(followed, history, 1);
  for (const DrillDecision& d : own.decisions) EXPECT_EQ(d.decision, Decision::Refer);
  EXPECT_EQ(told(own), 1);
  history.sessions[0].drills[0].drill = "not in the plan";
  EXPECT_EQ(told(run(followed, history, 1)), 1);
}

TEST(FollowUp, TheLogMovesTheStepAndAStepBeyondTheLadderIsItsLast) {
  AthleteFollowed followed = one_athlete();
  History history;
  history.sessions.push_back({kStart, {good(1)}});
  EXPECT_EQ(run(followed, history, 1).decisions[0].step, 1);
  history.sessions.push_back({kStart + 2, {good(9)}});
  EXPECT_EQ(run(followed, history, 3).decisions[0].step, 2);
}

TEST(FollowUp, TheOrderOfTheLogDoesNotMatter) {
  History history;
  for (const int day : {0, 2, 4, 7, 9}) history.sessions.push_back({kStart + day, {good(0)}});
  for (const int week : {0, 3, 6}) test_on(history, 7 * week, 30 + week);
  History turned = history;
  std::reverse(turned.sessions.begin(), turned.sessions.end());
  std::reverse(turned.tests.begin(), turned.tests.end());
  const FollowUp a = run(one_athlete(), history, 42), b = run(one_athlete(), turned, 42);
  EXPECT_EQ(a.changes[0].change, b.changes[0].change);
  EXPECT_EQ(a.forecasts[0].gain.value, b.forecasts[0].gain.value);
  EXPECT_EQ(a.decisions[0].reason, b.decisions[0].reason);
}

TEST(FollowUp, WeeksOfGoodLoadedWorkAreCountedBackFromToday) {
  const AthleteFollowed followed = one_athlete();
  History history;
  const auto loaded = [](double effort) {
    DrillDone done = good(2);
    done.load = 40;
    done.effort = effort;
    return done;
  };
  for (const int day : {1, 8, 15}) history.sessions.push_back({kStart + day, {loaded(6)}});
  EXPECT_EQ(good_loaded_weeks(followed, history, kStart + 20), 3);
  history.sessions.push_back({kStart + 9, {loaded(9)}});
  EXPECT_EQ(good_loaded_weeks(followed, history, kStart + 20), 1);
  EXPECT_EQ(good_loaded_weeks(followed, history, kStart + 30), 0);  // a week without load
  EXPECT_TRUE(position_holds(history, kStart + 20));
  EXPECT_FALSE(position_holds(history, kStart + 8));  // two sessions are too few to say
}

TEST(FollowUp, ABadErrorOfATestIsRefused) {
  AthleteFollowed followed = one_athlete();
  followed.tests[0].error = {0, 0};
  History history;
  test_on(history, 0, 30);
  EXPECT_FALSE(follow_up(followed, history, kStart));
}

TEST(PosteriorGain, UnusableInputIsRefused) {
  const GainModel model{{0.8, 0.4}};
  EXPECT_EQ(posterior_gain(model, {}).error().place.field, "observed");
  EXPECT_EQ(posterior_gain({{0.8, 0.0}}, {{kStart, {1, 1}}}).error().place.field, "prior");
  EXPECT_EQ(posterior_gain(model, {{kStart, {1, 0}}}).error().place.field, "observed[0]");
  EXPECT_FALSE(posterior_gain(model, {{kStart, {std::nan(""), 1}}}));
}

TEST(PosteriorGain, MoreTestsNarrowTheGain) {
  const GainModel model{{0.8, 0.4}};
  std::vector<Observed> observed = {{kStart, {30, 1}}};
  double last = posterior_gain(model, observed)->gain.standard_error;
  EXPECT_DOUBLE_EQ(last, 0.4);
  for (const int week : {2, 4, 6, 8}) {
    observed.push_back({kStart + 7 * week, {30 + 0.8 * week, 1}});
    const double now = posterior_gain(model, observed)->gain.standard_error;
    EXPECT_LT(now, last);
    last = now;
  }
}

TEST(PosteriorGain, LevellingGainsNeverReachWhatLiesBeyondTheirPlateau) {
  const GainModel model{{1.0, 0.05}, 6.0};
  std::vector<Observed> observed = {{kStart, {30, 0.1}}, {kStart + 42, {33.8, 0.1}}};
  const auto p = posterior_gain(model, observed);
  ASSERT_TRUE(p);
  EXPECT_NEAR(value_on(*p, kStart + 7000).value, 36.0, 0.3);  // 30 + 1.0 * 6
  EXPECT_FALSE(date_reached(*p, 40, 0.5, kStart, 104));
}

// Two films say of the gain a week what their difference says, against a normal expectation about
// none: precisions add (conjugate update of a normal mean, any textbook of Bayesian statistics).
TEST(FanOfAMeasure, TwoFilmsAgreeWithTheConjugateUpdate) {
  const double error = 2.0, weeks = 4.0, fall = 6.0;
  const auto fan = forecast_fan({{kStart, {38.0, error}}, {kStart + 28, {38.0 - fall, error}}},
                                body::Better::Lower, kStart + 28, 12);
  ASSERT_TRUE(fan.has_value()) << fan.error().message;
  ASSERT_EQ(fan->size(), 13U);
  const double detectable = 1.96 * std::sqrt(2.0) * error;
  const double spread = detectable / progression_numbers().value("forecast.unknown_weeks");
  const double of_films = weeks * weeks / (2.0 * error * error);
  const double gain = fall / weeks * of_films / (of_films + 1.0 / (spread * spread));
  EXPECT_NEAR(fan->at(5).value.value - fan->at(0).value.value, -5.0 * gain, 0.01);
  EXPECT_GT(gain, 0.2);
  for (std::size_t i = 1; i < fan->size(); ++i) {
    EXPECT_EQ(fan->at(i).date - fan->at(i - 1).date, 7);
    EXPECT_GT(fan->at(i).value.standard_error, fan->at(i - 1).value.standard_error);
  }
}

TEST(FanOfAMeasure, NoSessionIsRefused) {
  EXPECT_FALSE(forecast_fan(std::vector<Observed>{}, body::Better::Lower, kStart, 12).has_value());
}

}  // namespace
}  // namespace lintel::plan
