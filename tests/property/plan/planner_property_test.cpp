// What must hold for every plan, on 10,000 invented libraries, athletes and weeks.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "plan/plan.h"
#include "support/random_plans.h"

namespace lintel::plan {
namespace {

using test_support::random_int;
using test_support::random_library;
using test_support::random_planner_input;

constexpr std::uint64_t kCases = 10'000;
constexpr double kRounding = 1e-9;

struct Case {
  std::vector<Drill> library;
  PlannerInput input;
};

Case make_case(std::uint64_t seed) {
  Random random(seed, 7);
  Case c;
  c.library = random_library(random, random_int(random, 3, 12));
  c.input = random_planner_input(random);
  return c;
}

void check_minutes_and_sessions(const Case& c, const Selection& s) {
  std::vector<double> load(static_cast<std::size_t>(c.input.sessions_per_week), 0.0);
  std::set<std::size_t> used;
  for (const Choice& choice : s.choices) {
    const Dose& dose = c.library[choice.drill].doses[choice.level];
    ASSERT_TRUE(used.insert(choice.drill).second);
    ASSERT_EQ(choice.sessions.size(), static_cast<std::size_t>(dose.times_per_week));
    ASSERT_TRUE(std::adjacent_find(choice.sessions.begin(), choice.sessions.end(),
                                   std::greater_equal<>()) == choice.sessions.end());
    for (const int session : choice.sessions) {
      ASSERT_GE(session, 0);
      ASSERT_LT(session, c.input.sessions_per_week);
      load[static_cast<std::size_t>(session)] += dose.time_per_session;
    }
  }
  for (const double time : load) ASSERT_LE(time, c.input.time_per_session + kRounding);
  ASSERT_LE(s.choices.size(), static_cast<std::size_t>(c.input.most_drills));
}

void check_equipment_and_signs(const Case& c, const Selection& s) {
  for (const Choice& choice : s.choices) {
    const Drill& drill = c.library[choice.drill];
    for (const EquipmentSet& any : drill.needs) {
      bool has = false;
      for (const Equipment e : any.list()) has = has || c.input.equipment.has(e);
      ASSERT_TRUE(has) << drill.id;
    }
    for (const body::WarningSign sign : c.input.warning_signs) {
      ASSERT_FALSE(drill.loaded) << drill.id;
      ASSERT_EQ(std::count(drill.not_with.begin(), drill.not_with.end(), sign), 0) << drill.id;
    }
    for (const Prerequisite& before : drill.prerequisites) {
      ASSERT_TRUE(std::any_of(c.input.passed.begin(), c.input.passed.end(), [&](const auto& p) {
        return p.drill == before.drill && p.step >= before.step;
      })) << drill.id;
    }
    ASSERT_GE(choice.step, 0);
    ASSERT_LT(choice.step, static_cast<int>(drill.ladder.size()));
  }
  if (triage(c.input.warning_signs).clearance == Clearance::NoDrills) {
    ASSERT_TRUE(s.choices.empty());
  }
}

void check_stretching(const Case& c, const Selection& s) {
  std::array<double, reasoning::kFactorCount> hold{};
  for (const Choice& choice : s.choices) {
    const Drill& drill = c.library[choice.drill];
    if (drill.mode != Mode::StaticStretch) continue;
    const Dose& dose = drill.doses[choice.level];
    ASSERT_GE(dose.times_per_week, 5);
    ASSERT_GE(dose.hold_per_week(), 300.0 - kRounding);
    hold[reasoning::index_of(drill.targets.front().part)] += dose.hold_per_week();
  }
  for (const double time : hold) ASSERT_LE(time, 600.0 + kRounding);
}

void check_expectation(const Case& c, const Selection& s) {
  double sum = 0.0;
  for (const ExpectedPart& part : s.expected) {
    ASSERT_GE(part.range_gain, 0.0);
    ASSERT_GE(part.range_gain_error, 0.0);
    sum += part.lean_gain;
    for (const TargetPart& target : c.input.targets) {
      if (target.part != part.part) continue;
      // Never more than there is: E[max(0, Y)] <= mean + 0.4 SD for mean >= 0.
      ASSERT_LE(
          part.lean_gain,
          target.probability * (target.size.value + 0.4 * target.size.standard_error) + kRounding);
    }
  }
  ASSERT_NEAR(sum, s.lean_gain, kRounding);
  ASSERT_NEAR(s.objective, s.lean_gain + (kSetupWeight - 1.0) * s.setup_gain,
              1e-6 * std::max(1.0, s.objective));
  ASSERT_EQ(s.choices.size() + s.rejected.size(), c.library.size());
}

TEST(PlannerProperties, EveryPlanRespectsMinutesEquipmentSignsAndDoseRules) {
  int with_choice = 0;
  for (std::uint64_t seed = 1; seed <= kCases; ++seed) {
    const Case c = make_case(seed);
    const auto s = choose_drills(c.library, c.input);
    ASSERT_TRUE(s.has_value()) << seed;
    ASSERT_TRUE(s->proved) << seed;
    check_minutes_and_sessions(c, *s);
    check_equipment_and_signs(c, *s);
    check_stretching(c, *s);
    check_expectation(c, *s);
    if (HasFatalFailure()) FAIL() << "case " << seed;
    with_choice += s->choices.empty() ? 0 : 1;
  }
  EXPECT_GT(with_choice, 3000);
}

// Whoever has more, or may do more, is never worse off.
TEST(PlannerProperties, MoreNeverMakesItWorse) {
  for (std::uint64_t seed = 1; seed <= kCases; ++seed) {
    Case c = make_case(seed);
    const double before = choose_drills(c.library, c.input)->objective;
    Random random(seed, 11);
    switch (random_int(random, 0, 5)) {
      case 0:
        c.input.time_per_session += 60.0 * random_int(random, 1, 10);
        break;
      case 1:
        c.input.sessions_per_week = std::min(7, c.input.sessions_per_week + 1);
        break;
      case 2:
        for (int e = 0; e < kEquipmentCount; ++e) c.input.equipment.add(static_cast<Equipment>(e));
        break;
      case 3:
        c.input.warning_signs.clear();
        break;
      case 4:
        c.input.most_drills = std::min(12, c.input.most_drills + 1);
        break;
      default:
        c.input.weeks += 1;
    }
    ASSERT_GE(choose_drills(c.library, c.input)->objective, before - kRounding * (1.0 + before))
        << seed;
  }
}

TEST(PlannerProperties, TheOrderOfTheLibraryDoesNotChangeTheValue) {
  for (std::uint64_t seed = 1; seed <= kCases / 4; ++seed) {
    Case c = make_case(seed);
    const double before = choose_drills(c.library, c.input)->objective;
    std::reverse(c.library.begin(), c.library.end());
    ASSERT_NEAR(choose_drills(c.library, c.input)->objective, before, kRounding * (1.0 + before))
        << seed;
  }
}

TEST(PlannerProperties, EveryPlanLaidOutKeepsItsRules) {
  for (std::uint64_t seed = 1; seed <= kCases / 10; ++seed) {
    const Case c = make_case(seed);
    PlanInput input;
    input.athlete_id = "a";
    input.from = Date::from_days(20000 + static_cast<int>(seed));
    input.planner = c.input;
    input.trunk_inclination = Estimate{0.8, 0.03};
    const auto plan = make_plan(c.library, input);
    ASSERT_TRUE(plan.has_value());
    const auto faults = find_faults(*plan);
    ASSERT_TRUE(faults.empty()) << seed << ": " << faults.front();
    for (const Goal& goal : plan->goals) {
      ASSERT_GE(goal.probability, 0.0);
      ASSERT_LE(goal.probability, 1.0);
    }
  }
}

}  // namespace
}  // namespace lintel::plan
