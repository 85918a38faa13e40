// The planner against brute force and by hand.
#include "plan/planner.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <functional>

#include "plan/plan.h"
#include "support/random_plans.h"

namespace lintel::plan {
namespace {

using reasoning::Factor;
using test_support::random_library;
using test_support::random_planner_input;
using ::testing::Contains;
using ::testing::HasSubstr;

TEST(ExpectedReduction, EqualsTheIntegralOfTheSmallerOfGainAndSize) {
  for (const double sd : {0.0, 0.01, 0.05, 0.2}) {
    for (const double mean : {0.0, 0.05, 0.15}) {
      for (const double gain : {0.0, 0.02, 0.1, 0.4}) {
        // Sum of min(gain, max(0, y)) over the normal density, from its definition.
        double expected = std::min(gain, mean);
        if (sd > 0.0) {
          expected = 0.0;
          const int steps = 40000;
          for (int i = 0; i < steps; ++i) {
            const double z = -8.0 + 16.0 * (i + 0.5) / steps;
            const double y = std::max(0.0, mean + sd * z);
            expected += std::min(gain, y) * std::exp(-0.5 * z * z) * 16.0 / steps;
          }
          expected /= std::sqrt(2.0 * std::numbers::pi);
        }
        EXPECT_NEAR(expected_reduction(gain, {mean, sd}, 0.7), 0.7 * expected, 1e-8)
            << mean << " " << sd << " " << gain;
      }
    }
  }
}

TEST(PlannedGain, CountsALighterWeekHalfAndNothingBeyondTheTrials) {
  Gain gain;
  gain.per_week = 0.01;
  gain.reference_time = 600.0;
  gain.weeks = 6.0;
  Dose dose;
  dose.repetitions = 8;
  dose.times_per_week = 5;
  dose.time_per_session = 120.0;
  // Weeks 1, 2, 3, half of 4, 5, 6.
  EXPECT_NEAR(planned_gain(gain, Mode::Skill, dose, 12), 0.055, 1e-12);
  EXPECT_NEAR(planned_gain(gain, Mode::Skill, dose, 3), 0.03, 1e-12);
  dose.time_per_session = 60.0;  // half of the reference time
  EXPECT_NEAR(planned_gain(gain, Mode::Skill, dose, 3), 0.015, 1e-12);
  dose.time_per_session = 600.0;  // more than it: no more is promised
  EXPECT_NEAR(planned_gain(gain, Mode::Skill, dose, 3), 0.03, 1e-12);
}

TEST(PlannedGain, OfAStaticStretchCountsTheHoldOfOneSide) {
  Gain gain;
  gain.per_week = 0.01;
  gain.reference_time = 600.0;
  Dose dose;
  dose.sets = 2;
  dose.hold = 30.0;
  dose.times_per_week = 5;
  dose.time_per_session = 300.0;
  EXPECT_NEAR(dose_share(gain, Mode::StaticStretch, dose), 0.5, 1e-12);
}

// ---- Brute force -----------------------------------------------------------------------------

// Every way to put the items into sessions, without any cleverness.
bool fits_by_trying_all(const std::vector<std::pair<long, int>>& items, std::size_t at,
                        std::vector<long>& room) {
  if (at == items.size()) return true;
  const auto [time, times] = items[at];
  const auto sessions = room.size();
  for (unsigned subset = 0; subset < (1u << sessions); ++subset) {
    if (std::popcount(subset) != times) continue;
    bool fits = true;
    for (std::size_t s = 0; s < sessions; ++s) {
      if ((subset >> s & 1u) == 0) continue;
      room[s] -= time;
      fits = fits && room[s] >= 0;
    }
    fits = fits && fits_by_trying_all(items, at + 1, room);
    for (std::size_t s = 0; s < sessions; ++s) {
      if ((subset >> s & 1u) != 0) room[s] += time;
    }
    if (fits) return true;
  }
  return false;
}

// The problem from its words in planner.h, written down again without the planner's code.
class BruteForce {
 public:
  BruteForce(const std::vector<Drill>& library, const PlannerInput& input)
      : library_(library), input_(input) {}

  double best() {
    if (triage(input_.warning_signs).clearance == Clearance::NoDrills) return 0.0;
    visit(0);
    return best_;
  }

 private:
  struct Aim {
    Factor part;
    Estimate size;
    double probability, per_gain, weight;
  };
  std::vector<Aim> aims() const {
    std::vector<Aim> out;
    for (const SetupChange& c : input_.setup_changes) {
      if (c.lean_gain.value > 0.0) out.push_back({c.lever, c.lean_gain, 1.0, 1.0, kSetupWeight});
    }
    for (const TargetPart& t : input_.targets) {
      if (t.size.value <= 0.0 || t.probability <= 0.0) continue;
      const double weight = reasoning::is_lever(t.part) ? kSetupWeight : 1.0;
      out.push_back({t.part, t.size, t.probability, t.lean_per_gain, weight});
    }
    return out;
  }
  double response(Factor part) const {
    for (const Response& r : input_.responses) {
      if (r.part == part) return std::max(0.0, r.multiplier.value);
    }
    return 1.0;
  }
  bool may_be_used(const Drill& drill, const Dose& dose) const {
    if (drill.loaded && !input_.warning_signs.empty()) return false;
    for (const body::WarningSign sign : drill.not_with) {
      for (const body::WarningSign has : input_.warning_signs) {
        if (sign == has) return false;
      }
    }
    if (!fits_equipment(drill, input_.equipment)) return false;
    for (const Prerequisite& before : drill.prerequisites) {
      bool passed = false;
      for (const PassedStep& p : input_.passed) {
        passed = passed || (p.drill == before.drill && p.step >= before.step);
      }
      if (!passed) return false;
    }
    if (drill.mode == Mode::StaticStretch) {
      if (dose.times_per_week < 5 || dose.hold_per_week() < 300.0) return false;
      if (dose.hold_per_week() > 600.0) return false;
    }
    return true;
  }
  double value() const {
    double sum = 0.0;
    for (const Aim& aim : aims()) {
      double gain = 0.0, full = 0.0;
      for (const Drill& drill : library_) {
        for (const Target& t : drill.targets) {
          if (t.part != aim.part) continue;
          Dose whole;
          whole.repetitions = 1;
          whole.times_per_week = 1;
          whole.time_per_session = t.gain.reference_time;
          full = std::max(full, planned_gain(t.gain, Mode::Skill, whole, input_.weeks));
        }
      }
      for (const auto& [drill, dose] : chosen_) {
        for (const Target& t : drill->targets) {
          if (t.part == aim.part) gain += planned_gain(t.gain, drill->mode, *dose, input_.weeks);
        }
      }
      const double rate = aim.per_gain * response(aim.part);
      if (gain > full) gain = full + 0.5 * full * (1.0 - std::exp(-(gain - full) / (0.5 * full)));
      sum += aim.weight * expected_reduction(rate * gain, aim.size, aim.probability);
    }
    return sum;
  }
  bool is_allowed() const {
    std::array<double, reasoning::kFactorCount> stretched{};
    std::vector<std::pair<long, int>> items;
    for (const auto& [drill, dose] : chosen_) {
      items.emplace_back(std::lround(dose->time_per_session), dose->times_per_week);
      if (drill->mode == Mode::StaticStretch) {
        stretched[reasoning::index_of(drill->targets.front().part)] += dose->hold_per_week();
      }
    }
    for (const double time : stretched) {
      if (time > 600.0 + 1e-6) return false;
    }
    std::vector<long> room(static_cast<std::size_t>(input_.sessions_per_week),
                           std::lround(input_.time_per_session));
    return fits_by_trying_all(items, 0, room);
  }
  void visit(std::size_t i) {
    if (!chosen_.empty() && !is_allowed()) return;
    best_ = std::max(best_, value());
    if (i == library_.size()) return;
    visit(i + 1);
    if (static_cast<int>(chosen_.size()) >= input_.most_drills) return;
    for (const Dose& dose : library_[i].doses) {
      if (dose.times_per_week > input_.sessions_per_week) continue;
      if (!may_be_used(library_[i], dose)) continue;
      chosen_.emplace_back(&library_[i], &dose);
      visit(i + 1);
      chosen_.pop_back();
    }
  }

  const std::vector<Drill>& library_;
  const PlannerInput& input_;
  std::vector<std::pair<const Drill*, const Dose*>> chosen_;
  double best_ = 0.0;
};

TEST(Planner, FindsWhatBruteForceFinds) {
  int with_choice = 0;
  for (std::uint64_t seed = 1; seed <= 1500; ++seed) {
    Random random(seed);
    const std::vector<Drill> library = random_library(random, 8);
    PlannerInput input = random_planner_input(random);
    input.sessions_per_week = std::min(input.sessions_per_week, 5);
    const auto selection = choose_drills(library, input);
    ASSERT_TRUE(selection.has_value()) << selection.error();
    EXPECT_TRUE(selection->proved);
    const double best = BruteForce(library, input).best();
    EXPECT_NEAR(selection->objective, best, 1e-9 * std::max(1.0, best)) << seed;
    with_choice += selection->choices.size() >= 2 ? 1 : 0;
  }
  EXPECT_GT(with_choice, 500);  // else the cases would prove nothing
}

// ---- By hand ---------------------------------------------------------------------------------

Drill simple_drill(const std::string& id, Factor part, double per_week, double minutes, int times) {
  Drill drill;
  drill.id = drill.name = id;
  drill.mode = Mode::Mobilisation;
  Target target;
  target.part = part;
  target.gain = {per_week, 0.01, minutes * 60.0 * times, 8.0, "invented for a test", true};
  drill.targets = {target};
  Dose dose;
  dose.repetitions = 8;
  dose.times_per_week = times;
  dose.time_per_session = minutes * 60.0;
  drill.doses = {dose};
  drill.ladder.resize(2);
  drill.cautions = {"invented"};
  return drill;
}

PlannerInput simple_input() {
  PlannerInput input;
  input.targets = {{Factor::Ankle, {0.1, 0.0}, 1.0, 1.0, "ankle", std::nullopt},
                   {Factor::Hip, {0.1, 0.0}, 1.0, 1.0, "hip", std::nullopt}};
  input.sessions_per_week = 3;
  input.weeks = 3;
  return input;
}

TEST(Planner, PrefersTheDrillThatBuysMoreForTheMinutes) {
  PlannerInput input = simple_input();
  input.time_per_session = 600.0;
  const std::vector<Drill> library = {simple_drill("slow", Factor::Ankle, 0.010, 10, 3),
                                      simple_drill("a", Factor::Ankle, 0.008, 5, 3),
                                      simple_drill("b", Factor::Hip, 0.008, 5, 3)};
  const auto selection = choose_drills(library, input);
  ASSERT_TRUE(selection.has_value());
  ASSERT_EQ(selection->choices.size(), 2u);
  EXPECT_EQ(library[selection->choices[0].drill].id, "a");
  EXPECT_EQ(library[selection->choices[1].drill].id, "b");
  EXPECT_NEAR(selection->lean_gain, 2 * 3 * 0.008, 1e-12);
}

TEST(Planner, StopsWorkingOnAPartThatIsUsedUp) {
  PlannerInput input = simple_input();
  input.targets[0].size.value = 0.02;  // one drill gains 0.024 in three weeks
  const std::vector<Drill> library = {simple_drill("a", Factor::Ankle, 0.008, 5, 3),
                                      simple_drill("a2", Factor::Ankle, 0.008, 5, 3),
                                      simple_drill("b", Factor::Hip, 0.001, 5, 3)};
  const auto selection = choose_drills(library, input);
  ASSERT_TRUE(selection.has_value());
  ASSERT_EQ(selection->choices.size(), 2u);
  EXPECT_NEAR(selection->lean_gain, 0.02 + 0.003, 1e-12);
}

TEST(Planner, TakesTheSetupFirstWhateverElseIsToGain) {
  PlannerInput input = simple_input();
  input.time_per_session = 300.0;
  input.setup_changes = {{Factor::Grip, 0.9, 1.0, {0.01, 0.0}, "wider grip"}};
  const std::vector<Drill> library = {simple_drill("a", Factor::Ankle, 0.03, 5, 3),
                                      simple_drill("grip", Factor::Grip, 0.01, 5, 3)};
  const auto selection = choose_drills(library, input);
  ASSERT_TRUE(selection.has_value());
  ASSERT_EQ(selection->choices.size(), 1u);
  EXPECT_EQ(library[selection->choices[0].drill].id, "grip");
  EXPECT_NEAR(selection->setup_gain, 0.01, 1e-12);
}

TEST(Planner, LeavesStaticStretchingOutBelowFiveDaysAndSaysWhy) {
  Drill stretch = simple_drill("stretch", Factor::Ankle, 0.01, 3, 5);
  stretch.mode = Mode::StaticStretch;
  stretch.doses[0].repetitions = 0;
  stretch.doses[0].sets = 2;
  stretch.doses[0].hold = 30.0;
  PlannerInput input = simple_input();
  input.sessions_per_week = 4;
  const auto four = choose_drills(std::vector{stretch}, input);
  ASSERT_TRUE(four.has_value());
  EXPECT_TRUE(four->choices.empty());
  EXPECT_THAT(four->notes, Contains(HasSubstr("Thomas et al. 2018")));
  input.sessions_per_week = 5;
  const auto five = choose_drills(std::vector{stretch}, input);
  ASSERT_TRUE(five.has_value());
  EXPECT_EQ(five->choices.size(), 1u);
  stretch.doses[0].hold = 29.0;  // 290 s a week of one side: below 5 min
  EXPECT_TRUE(choose_drills(std::vector{stretch}, input)->choices.empty());
}

TEST(Planner, PrescribesNoMoreThanTenMinutesOfStretchingForOnePart) {
  std::vector<Drill> library;
  for (const char* id : {"one", "two", "three"}) {
    Drill stretch = simple_drill(id, Factor::Ankle, 0.003, 3, 5);
    stretch.mode = Mode::StaticStretch;
    stretch.doses[0].repetitions = 0;
    stretch.doses[0].sets = 2;
    stretch.doses[0].hold = 30.0;
    stretch.targets[0].gain.reference_time = 300.0;
    library.push_back(stretch);
  }
  PlannerInput input = simple_input();
  input.sessions_per_week = 5;
  input.time_per_session = 3600.0;
  const auto selection = choose_drills(library, input);
  ASSERT_TRUE(selection.has_value());
  EXPECT_EQ(selection->choices.size(), 2u);  // twice 5 min of one side
}

TEST(Planner, StartsAfterTheStepThatWasPassedAndOpensWhatItIsRequiredFor) {
  std::vector<Drill> library = {simple_drill("first", Factor::Ankle, 0.01, 5, 3),
                                simple_drill("second", Factor::Hip, 0.01, 5, 3)};
  library[1].prerequisites = {{"first", 0}};
  PlannerInput input = simple_input();
  EXPECT_EQ(choose_drills(library, input)->choices.size(), 1u);
  input.passed = {{"first", 0}};
  const auto selection = choose_drills(library, input);
  ASSERT_EQ(selection->choices.size(), 2u);
  EXPECT_EQ(selection->choices[0].step + selection->choices[1].step, 1);  // first: its step 2
}

TEST(Planner, GivesNothingAtARedFlag) {
  PlannerInput input = simple_input();
  input.warning_signs = {body::WarningSign::Fever};
  const auto selection =
      choose_drills(std::vector{simple_drill("a", Factor::Ankle, 0.01, 5, 3)}, input);
  ASSERT_TRUE(selection.has_value());
  EXPECT_TRUE(selection->choices.empty());
  EXPECT_EQ(selection->rejected[0].reason, LeftOut::WarningSign);
}

TEST(Planner, RefusesNumbersOutOfRangeWithTheirField) {
  PlannerInput input = simple_input();
  input.time_per_session = 60.0;
  EXPECT_EQ(choose_drills({}, input).error().place.field, "planner.time_per_session");
  input = simple_input();
  input.targets[1].probability = 1.5;
  EXPECT_EQ(choose_drills({}, input).error().place.field, "planner.targets[1].probability");
  input = simple_input();
  input.targets[0].size.value = std::nan("");
  EXPECT_EQ(choose_drills({}, input).error().place.field, "planner.targets[0].size");
}

}  // namespace
}  // namespace lintel::plan
