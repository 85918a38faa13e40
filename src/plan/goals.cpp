#include "plan/goals.h"

#include <algorithm>
#include <cmath>

#include "base/random.h"
#include "base/text.h"
#include "plan/rules.h"

namespace lintel::plan {
namespace {

struct DrawnPart {
  ExpectedPart expected;
  Estimate size;
  double probability = 1.0;
  double lean_per_gain = 1.0;
};

std::vector<DrawnPart> parts_of(const PlannerInput& input, const Selection& selection) {
  std::vector<DrawnPart> parts;
  for (const ExpectedPart& expected : selection.expected) {
    DrawnPart part{expected, {}, 1.0, 1.0};
    bool found = false;
    for (const SetupChange& change : input.setup_changes) {
      if (change.lever != expected.part) continue;
      part.size = change.lean_gain;
      found = true;
    }
    for (const TargetPart& target : input.targets) {
      if (found || target.part != expected.part) continue;
      part.size = target.size;
      part.probability = target.probability;
      part.lean_per_gain = target.lean_per_gain;
    }
    parts.push_back(part);
  }
  return parts;
}

double round_to_easier(double value, double step) {
  return std::floor(value / step + 1e-9) * step;
}

// Ranges, not levers and habit: those have a goal together, the inclination.
bool has_range(reasoning::Factor part) {
  return !reasoning::is_lever(part) && part != reasoning::Factor::Habit;
}

struct Draws {
  std::vector<double> trunk;  // inclination at the end, sorted; empty where it was not seen
  std::vector<int> reached;   // of each part's range target
};

Draws draw_outcomes(const PlanInput& input, const std::vector<DrawnPart>& parts,
                    const std::vector<double>& range_targets, int draws) {
  Draws out{{}, std::vector<int>(parts.size(), 0)};
  for (int draw = 0; draw < draws; ++draw) {
    Random random(input.seed, static_cast<std::uint64_t>(draw));
    double reduction = 0.0;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      const DrawnPart& part = parts[i];
      const double gain =
          std::max(0.0, random.normal(part.expected.range_gain, part.expected.range_gain_error));
      const double size = std::max(0.0, random.normal(part.size.value, part.size.standard_error));
      const bool real = random.uniform() < part.probability;
      if (real) reduction += std::min(part.lean_per_gain * gain, size);
      if (gain >= range_targets[i]) ++out.reached[i];
    }
    if (!input.trunk_inclination) continue;
    out.trunk.push_back(
        random.normal(input.trunk_inclination->value, input.trunk_inclination->standard_error) -
        reduction);
  }
  std::sort(out.trunk.begin(), out.trunk.end());
  return out;
}

Goal trunk_goal(const PlanInput& input, const Selection& selection, double target) {
  Goal goal;
  goal.code = "trunk_inclination";
  goal.measure = "trunk inclination at the bottom";
  goal.from = input.trunk_inclination->value;
  goal.target = target;
  goal.basis = text(
      "Expected: %s less, from the size of each part and the gains that the drills' sources give, "
      "with their spread between people.",
      degrees_in_words(selection.lean_gain * kDegreesPerRadian).c_str());
  return goal;
}

}  // namespace

std::vector<Goal> make_goals(const PlanInput& input, const Selection& selection) {
  const double step = plan_rules().value("goal.round_to");
  const int draws = static_cast<int>(plan_rules().value("goal.draws"));
  const std::vector<DrawnPart> parts = parts_of(input.planner, selection);
  const Date date = input.from + 7 * input.planner.weeks;
  std::vector<Goal> goals;
  std::vector<double> range_targets;
  for (const DrawnPart& part : parts) {
    range_targets.push_back(round_to_easier(part.expected.range_gain, step));
  }
  const Draws drawn = draw_outcomes(input, parts, range_targets, draws);
  if (input.trunk_inclination) {
    // Not given: what is reached as likely as not.
    const double even = -round_to_easier(-drawn.trunk[drawn.trunk.size() / 2], step);
    const double target =
        input.goal_inclination.value_or(std::min(even, input.trunk_inclination->value));
    goals.push_back(trunk_goal(input, selection, target));
    const auto past = std::upper_bound(drawn.trunk.begin(), drawn.trunk.end(), target);
    goals.back().probability =
        static_cast<double>(past - drawn.trunk.begin()) / static_cast<double>(draws);
  }
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const reasoning::Factor part = parts[i].expected.part;
    if (!has_range(part) || range_targets[i] <= 0.0) continue;
    Goal goal;
    goal.code = reasoning::factor_name(part);
    goal.measure = "gain of " + std::string(reasoning::factor_label(part));
    for (const TargetPart& target : input.planner.targets) {
      if (target.part != part || !target.range_now) continue;
      goal.measure = reasoning::factor_label(part);
      goal.from = *target.range_now;
    }
    goal.target = goal.from + range_targets[i];
    goal.probability = 1.0 * drawn.reached[i] / draws;
    goal.basis = text(
        "Gain of range by the drills' sources: %.1f degrees, spread between people "
        "%.1f degrees.",
        parts[i].expected.range_gain * kDegreesPerRadian,
        parts[i].expected.range_gain_error * kDegreesPerRadian);
    goals.push_back(std::move(goal));
  }
  for (Goal& goal : goals) goal.date = date;
  return goals;
}

}  // namespace lintel::plan
