#include "app/explain_view.h"

#include "base/text.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>

namespace lintel::app {
namespace {

using reasoning::Change;
using reasoning::Factor;
using reasoning::Lever;
using reasoning::WhatIf;

constexpr double kLeastGain = 0.5 * kRadiansPerDegree;
constexpr std::size_t kMostTests = 4;

std::string cost_text(const WhatIf& row) {
  std::string out;
  for (const reasoning::Cost cost : row.costs) {
    out += (out.empty() ? "" : " ") + std::string(reasoning::cost_sentence(cost));
  }
  return out;
}

view::NextStep step_of(const WhatIf& row) {
  view::NextStep step;
  step.title = describe_changes(row.changes);
  step.detail = cost_text(row);
  step.less_lean = Estimate{-row.trunk_change, row.trunk_change_error};
  return step;
}

bool is_of_setup(const WhatIf& row) {
  return std::all_of(row.changes.begin(), row.changes.end(),
                     [](const Change& c) { return c.lever <= Lever::Grip; });
}

void add_habit_step(const reasoning::ExplainResult& r, view::Explanation& out) {
  const std::size_t i = reasoning::index_of(Factor::Habit);
  const reasoning::Spread& habit = r.uncertainty.parts[i];
  if (!r.observed || r.tests_done == 0 || habit.low <= 0.0) return;
  out.next_steps.push_back(
      {"Use the range that is there",
       "Practise the bottom slowly with the empty bar or a stick, knees travelling forward, hips "
       "straight down between the feet, and film again.",
       Estimate{r.shares.parts[i], habit.standard_deviation}});
}

void add_setup_steps(const reasoning::ExplainResult& r, view::Explanation& out) {
  if (!r.what_if) return;
  const auto& table = *r.what_if;
  std::size_t singles = 0;
  for (const WhatIf& row : table.single) {
    if (!is_of_setup(row) || row.trunk_change > -kLeastGain || singles == 2) continue;
    out.next_steps.push_back(step_of(row));
    ++singles;
  }
  const std::optional<WhatIf>& best = table.best_triple ? table.best_triple : table.best_pair;
  if (best && best->trunk_change < -kLeastGain && singles > 0) {
    out.next_steps.push_back(step_of(*best));
  }
}

// The range that would buy most, if it is one that was tested.
void add_mobility_step(const reasoning::ExplainResult& r, view::Explanation& out) {
  if (!r.what_if) return;
  for (const WhatIf& row : r.what_if->single) {
    const bool mobility = row.changes.front().lever >= Lever::AnkleRange;
    if (!mobility || row.trunk_change > -kLeastGain) continue;
    out.next_steps.push_back(step_of(row));
    return;
  }
}

}  // namespace

std::vector<std::string> core_test_labels() {
  using body::MobilityTest;
  std::vector<std::string> out;
  for (const MobilityTest test :
       {MobilityTest::KneeToWall, MobilityTest::HipFlexion, MobilityTest::ThoracicRotation,
        MobilityTest::ArmToWallTurnedIn, MobilityTest::ArmToWallTurnedOut}) {
    out.emplace_back(reasoning::test_label(test));
  }
  return out;
}

view::Explanation to_view(const reasoning::ExplainResult& r) {
  view::Explanation out;
  out.observed_inclination = r.observed;
  out.most_upright = Estimate{r.shares.most_upright, r.uncertainty.most_upright.standard_deviation};
  out.cannot_tell = r.cannot_tell;
  out.sentences = r.sentences;
  for (std::size_t i = 0; i < r.missing.size() && i < kMostTests; ++i) {
    out.missing_tests.emplace_back(reasoning::test_label(r.missing[i].test));
  }
  if (r.tests_done == 0) out.missing_tests = core_test_labels();
  const int factors = r.observed ? reasoning::kFactorCount : reasoning::kPhysicalFactorCount;
  for (int i = 0; i < factors && r.tests_done > 0; ++i) {
    const auto factor = static_cast<Factor>(i);
    const std::size_t k = reasoning::index_of(factor);
    const reasoning::Spread& spread = r.uncertainty.parts[k];
    out.parts.push_back({std::string(reasoning::factor_name(factor)),
                         std::string(reasoning::factor_label(factor)), r.shares.parts[k],
                         spread.low, spread.high, r.uncertainty.probability_largest[k]});
  }
  std::stable_sort(out.parts.begin(), out.parts.end(),
                   [](const auto& a, const auto& b) { return a.share > b.share; });
  add_habit_step(r, out);
  add_setup_steps(r, out);
  add_mobility_step(r, out);
  return out;
}

}  // namespace lintel::app
