#include "plan/plan.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "plan/expected_gain.h"
#include "plan/goals.h"
#include "plan/retest.h"
#include "plan/rules.h"

namespace lintel::plan {
namespace {

using reasoning::Factor;

constexpr std::string_view kSeatedHold = "seated-half-unloaded-hold";

// The part that a drill is in the plan for: the first of its targets that is worked on.
Factor part_of(const Drill& drill, const Selection& selection) {
  for (const Target& target : drill.targets) {
    for (const ExpectedPart& expected : selection.expected) {
      if (expected.part == target.part) return target.part;
    }
  }
  return drill.targets.front().part;
}

PlannedDrill planned_drill(const Drill& drill, const Choice& choice, const Selection& selection) {
  const LadderStep& step = drill.ladder[static_cast<std::size_t>(choice.step)];
  PlannedDrill out;
  out.id = drill.id;
  out.name = drill.name;
  out.part = part_of(drill, selection);
  out.dose = drill.doses[choice.level];
  out.step = choice.step;
  out.step_name = step.name;
  out.step_how = step.how;
  out.move_on = step.move_on;
  out.loaded = drill.loaded;
  out.reason = choice.reason;
  out.cues = drill.cues;
  out.cautions = drill.cautions;
  out.source = drill.source;
  return out;
}

SessionItem item_of(const PlannedDrill& drill, std::size_t index, bool deload) {
  static const double kShare = plan_rules().value("deload.share");
  SessionItem item{index, drill.dose.sets, drill.dose.time_per_session};
  if (!deload) return item;
  item.sets = std::max(1, static_cast<int>(std::ceil(kShare * drill.dose.sets - 1e-9)));
  item.time *= static_cast<double>(item.sets) / drill.dose.sets;
  return item;
}

std::vector<PlannedWeek> lay_out(const Plan& plan, const Selection& selection) {
  std::vector<PlannedWeek> weeks;
  for (int number = 1; number <= plan.weeks; ++number) {
    PlannedWeek week{number, plan.from + 7 * (number - 1), is_deload_week(number), {}};
    for (int s = 0; s < plan.sessions_per_week; ++s) {
      PlannedSession session;
      session.day = s * 7 / plan.sessions_per_week;
      for (std::size_t i = 0; i < selection.choices.size(); ++i) {
        const std::vector<int>& sessions = selection.choices[i].sessions;
        if (std::find(sessions.begin(), sessions.end(), s) == sessions.end()) continue;
        session.items.push_back(item_of(plan.drills[i], i, week.deload));
        session.time += session.items.back().time;
      }
      if (!session.items.empty()) week.sessions.push_back(std::move(session));
    }
    weeks.push_back(std::move(week));
  }
  return weeks;
}

// Gain of a part if the best of its drills works as published, without lighter weeks. One drill
// alone: the pooled trials used one at a time, and a re-test must not come sooner for a second one.
PublishedGain published_gain(std::span<const Drill> library, const PlannerInput& input,
                             const Selection& selection, Factor part) {
  double response = 1.0;
  for (const Response& r : input.responses) {
    if (r.part == part) response = std::max(0.0, r.multiplier.value);
  }
  PublishedGain best{0.0, 0.0, 1.0};
  for (const Choice& choice : selection.choices) {
    const Drill& drill = library[choice.drill];
    for (const Target& target : drill.targets) {
      if (target.part != part) continue;
      const Gain& gain = target.gain;
      const double share = dose_share(gain, drill.mode, drill.doses[choice.level]);
      const double reached = response * gain.per_week * share * gain.weeks;
      if (reached <= best.gain) continue;
      best = {reached, response * gain.standard_deviation * share * gain.weeks, gain.weeks};
    }
  }
  return best;
}

PlannedRetest retest_of(const FollowedTest& test, const PublishedGain& published, Date from) {
  const RetestAdvice advice = earliest_retest(published, test.error);
  PlannedRetest out;
  out.test = test.protocol;
  out.label = test.label;
  out.date = retest_date(from, advice);
  out.trials = RetestRules{}.trials;
  out.detectable = advice.detectable;
  out.is_length = test.is_length;
  out.expected_gain = advice.expected_gain;
  out.detectable_change = advice.detectable_change;
  out.reason = retest_reason(advice, test.is_length);
  return out;
}

std::vector<PlannedRetest> make_retests(std::span<const Drill> library, const PlanInput& input,
                                        const Selection& selection) {
  std::vector<PlannedRetest> out;
  for (const FollowedTest& test : input.tests) {
    const bool trained = std::any_of(
        selection.expected.begin(), selection.expected.end(),
        [&test](const ExpectedPart& e) { return e.part == test.part && e.range_gain > 0.0; });
    if (!trained) continue;
    PublishedGain published = published_gain(library, input.planner, selection, test.part);
    published.gain *= test.per_gain;
    published.standard_deviation *= test.per_gain;
    out.push_back(retest_of(test, published, input.from));
  }
  if (input.trunk_inclination && selection.lean_gain > 0.0) {
    FollowedTest clip{"clip",        "squat filmed again, same camera place",
                      Factor::Habit, input.clip_error,
                      false,         1.0};
    if (clip.error.session <= 0.0) {
      clip.error = {plan_rules().value("clip.session_error"),
                    plan_rules().value("clip.repetition_error")};
    }
    const double weeks = input.planner.weeks;
    out.push_back(retest_of(clip, {selection.lean_gain, 0.0, weeks}, input.from));
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const PlannedRetest& a, const PlannedRetest& b) { return a.date < b.date; });
  return out;
}

std::vector<std::string> stop_rules(bool loaded) {
  std::vector<std::string> rules = {
      "Stop the session on sharp or radiating pain, numbness, dizziness or chest pain, and see a "
      "clinician before the next one.",
      "A stretch may pull; it must not hurt. Ease off, and stop the drill if it still hurts.",
      "If a joint hurts the next morning, leave that drill out and say so before you go on.",
      "Stop the set when heels lift, the low back rounds, or balance goes, and a cue does not mend "
      "it: take the easier form."};
  if (loaded) {
    rules.push_back(
        "Under a bar: put it down or drop it as soon as you lose control of it; end the loaded "
        "part "
        "for the day.");
  }
  return rules;
}

}  // namespace

bool is_deload_week(int number) {
  static const int kEvery = static_cast<int>(plan_rules().value("deload.every_weeks"));
  return number % kEvery == 0;
}

Result<Plan> make_plan(std::span<const Drill> library, const PlanInput& input) {
  const Selection selection = LINTEL_TRY(choose_drills(library, input.planner));
  const Triage cleared = triage(input.planner.warning_signs);
  Plan plan;
  plan.athlete_id = input.athlete_id;
  plan.athlete_name = input.athlete_name;
  plan.from = input.from;
  plan.weeks = input.planner.weeks;
  plan.sessions_per_week = input.planner.sessions_per_week;
  plan.time_per_session = input.planner.time_per_session;
  plan.equipment = input.planner.equipment;
  plan.warning_signs = input.planner.warning_signs;
  plan.clearance = cleared.clearance;
  plan.referral = referral_text(cleared);
  plan.notes = selection.notes;
  if (cleared.clearance == Clearance::NoDrills) return plan;
  plan.setup_changes = input.planner.setup_changes;
  for (const Choice& choice : selection.choices) {
    plan.drills.push_back(planned_drill(library[choice.drill], choice, selection));
    if (plan.drills.back().id == kSeatedHold) plan.seated_hold = input.seated_hold;
  }
  plan.schedule = lay_out(plan, selection);
  plan.goals = make_goals(input, selection);
  plan.retests = make_retests(library, input, selection);
  plan.stop_rules = stop_rules(std::any_of(plan.drills.begin(), plan.drills.end(),
                                           [](const PlannedDrill& d) { return d.loaded; }));
  return plan;
}

}  // namespace lintel::plan
