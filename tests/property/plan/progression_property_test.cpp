// What must hold for every log: 10,000 random ones.
#include <gtest/gtest.h>

#include <algorithm>

#include "base/random.h"
#include "plan/follow_up.h"
#include "plan/load_guidance.h"
#include "plan/plan.h"
#include "plan/progression_numbers.h"

namespace lintel::plan {
namespace {

constexpr std::uint64_t kLogs = 10'000;
const Date kStart = Date::parse("2026-03-02").value();

DrillDone random_done(Random& random, const DrillAsked& asked) {
  DrillDone done;
  done.drill = random.uniform() < 0.8 ? asked.drill : "other";
  done.step = static_cast<int>(random.uniform(0, static_cast<double>(asked.ladder.size())));
  done.sets = random.uniform() < 0.8 ? asked.sets : static_cast<int>(random.uniform(0, 4));
  done.repetitions = asked.repetitions;
  if (random.uniform() < 0.95) done.effort = random.uniform(3, 10);
  const double most = random.uniform() < 0.9 ? 4 : 11;
  if (random.uniform() < 0.97) done.pain_during = static_cast<int>(random.uniform(0, most));
  if (random.uniform() < 0.97)
    done.pain_next_morning = static_cast<int>(random.uniform(0, most / 3));
  if (random.uniform() < 0.02) {
    done.stop_sign = static_cast<StopSign>(random.uniform(0, kStopSignCount));
  }
  return done;
}

struct Log {
  AthleteFollowed followed;
  History history;
  Date today;
};

Log random_log(std::uint64_t index) {
  Random random(31, index);
  Log log;
  DrillAsked asked;
  asked.drill = asked.name = "drill";
  const int steps = 1 + static_cast<int>(random.uniform(0, 4));
  for (int i = 0; i < steps; ++i) {
    asked.ladder.push_back(
        {"step", 1 + static_cast<int>(random.uniform(0, 3)), 9.0, random.uniform() < 0.3});
  }
  asked.sets = 3;
  asked.repetitions = 8;
  log.followed.drills = {asked};
  if (random.uniform() < 0.15) {
    log.followed.warning_signs = {static_cast<body::WarningSign>(random.uniform(0, 11))};
  }
  const int days = static_cast<int>(random.uniform(0, 40));
  for (int day = 0; day < days; day += 1 + static_cast<int>(random.uniform(0, 6))) {
    log.history.sessions.push_back({kStart + day, {random_done(random, asked)}});
  }
  if (random.uniform() < 0.2) {
    log.history.releases = {{kStart + static_cast<int>(random.uniform(0, 40)), "doctor", ""}};
  }
  log.today = kStart + days + static_cast<int>(random.uniform(-3, 5));
  return log;
}

// Counts towards the rules: not settled by a release, not after today.
bool counts(const Log& log, Date date) {
  const auto release = last_release(log.history, log.today);
  return date <= log.today && (!release || date > *release);
}

TEST(ProgressionProperties, NobodyMovesOnAgainstASign) {
  int moved = 0, referred = 0, back = 0;
  for (std::uint64_t i = 0; i < kLogs; ++i) {
    SCOPED_TRACE(i);
    const Log log = random_log(i);
    const auto follow = follow_up(log.followed, log.history, log.today);
    ASSERT_TRUE(follow);
    const DrillDecision& d = follow->decisions[0];
    const int steps = static_cast<int>(log.followed.drills[0].ladder.size());
    ASSERT_GE(d.next_step, 0);
    ASSERT_LT(d.next_step, steps);
    ASSERT_LE(std::abs(d.next_step - d.step), 1);
    ASSERT_EQ(d.reason.find('\n'), std::string::npos);
    ASSERT_GT(d.reason.size(), 10u);
    moved += d.decision == Decision::MoveOn ? 1 : 0;
    referred += d.decision == Decision::Refer ? 1 : 0;
    back += d.decision == Decision::GoBack ? 1 : 0;
    if (d.decision == Decision::Refer) continue;
    const auto clearance = triage(log.followed.warning_signs).clearance;
    ASSERT_NE(clearance, Clearance::NoDrills);
    if (clearance == Clearance::UnloadedOnly && d.decision != Decision::GoBack) {
      ASSERT_FALSE(log.followed.drills[0].ladder[static_cast<std::size_t>(d.next_step)].loaded);
    }
    const DrillDone* last = nullptr;
    for (const Session& session : log.history.sessions) {
      const DrillDone& done = session.drills[0];
      if (session.date <= log.today && done.drill == "drill") last = &done;
      if (!counts(log, session.date)) continue;
      ASSERT_FALSE(done.stop_sign && is_for_a_clinician(*done.stop_sign));
      ASSERT_FALSE(done.drill == "drill" &&
                   worst_pain(done) >= progression_numbers().value("pain.severe"));
    }
    if (d.decision != Decision::MoveOn) continue;
    ASSERT_NE(last, nullptr);
    ASSERT_TRUE(last->pain_during && *last->pain_during <= 5);
    ASSERT_FALSE(last->stop_sign);
    ASSERT_EQ(last->sets, 3);
  }
  // All kinds occur, or the test would say nothing.
  EXPECT_GT(moved, 300);
  EXPECT_GT(referred, 300);
  EXPECT_GT(back, 100);
}

TEST(ProgressionProperties, MorePainNeverMakesADecisionBolder) {
  const auto rank = [](Decision d) {
    return d == Decision::MoveOn ? 3 : d == Decision::Hold ? 2 : d == Decision::GoBack ? 1 : 0;
  };
  for (std::uint64_t i = 0; i < kLogs; ++i) {
    SCOPED_TRACE(i);
    Log log = random_log(i);
    if (log.history.sessions.empty()) continue;
    const DrillDone& last = log.history.sessions.back().drills[0];
    if (last.drill != "drill" || !last.pain_during) continue;
    const auto before = follow_up(log.followed, log.history, log.today);
    DrillDone& worse = log.history.sessions.back().drills[0];
    worse.pain_during = std::min(10, *worse.pain_during + 3);
    const auto after = follow_up(log.followed, log.history, log.today);
    ASSERT_LE(rank(after->decisions[0].decision), rank(before->decisions[0].decision))
        << before->decisions[0].reason << " | " << after->decisions[0].reason;
  }
}

TEST(ProgressionProperties, WhatLiesAfterTodayChangesNothing) {
  for (std::uint64_t i = 0; i < kLogs / 5; ++i) {
    Log log = random_log(i);
    const auto before = follow_up(log.followed, log.history, log.today);
    DrillDone later;
    later.drill = "drill";
    later.sets = 3;
    later.pain_during = 9;
    later.stop_sign = StopSign::Numbness;
    log.history.sessions.push_back({log.today + 1, {later}});
    log.history.releases.push_back({log.today + 2, "doctor", ""});
    const auto after = follow_up(log.followed, log.history, log.today);
    ASSERT_EQ(before->decisions[0].reason, after->decisions[0].reason);
  }
}

}  // namespace
}  // namespace lintel::plan
