#include "reasoning/what_if.h"

#include <algorithm>

#include <gtest/gtest.h>

#include "reasoning/grip.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

constexpr double kDegree = kRadiansPerDegree;

WhatIfInput input_of(const body::Athlete& athlete) {
  const auto c = test::reasoning_case(athlete);
  const Shares shares = compute_shares(evaluate_all(c.comparison).value(), std::nullopt);
  return {c.body,
          athlete.setup,
          c.limits.limits,
          c.allowed,
          hip_crease_grip(c.body).value,
          shares.most_upright};
}

body::Athlete stiff_ankles() {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 34);
  return athlete;
}

const WhatIf* row_of(const WhatIfTable& table, Lever lever) {
  for (const WhatIf& row : table.single) {
    if (row.changes.front().lever == lever) return &row;
  }
  return nullptr;
}

bool has_cost(const WhatIf& row, Cost cost) {
  return std::find(row.costs.begin(), row.costs.end(), cost) != row.costs.end();
}

TEST(WhatIf, HasARowForEveryLeverBestFirst) {
  const WhatIfTable table = compute_what_if(input_of(stiff_ankles())).value();
  EXPECT_EQ(table.single.size(), static_cast<std::size_t>(kLeverCount));
  EXPECT_TRUE(std::is_sorted(
      table.single.begin(), table.single.end(),
      [](const WhatIf& a, const WhatIf& b) { return a.trunk_change < b.trunk_change; }));
  for (const WhatIf& row : table.single) {
    EXPECT_NEAR(row.trunk_inclination, table.trunk_inclination + row.trunk_change, 1e-12);
  }
}

TEST(WhatIf, HeelsAnkleAndStanceMakeAStiffAnkledAthleteMoreUpright) {
  // Directions: Monteiro et al. 2022 (wedge: trunk range falls), Fuglsang et al. 2017 (dorsiflexion
  // explains 45 % of trunk lean).
  const WhatIfTable table = compute_what_if(input_of(stiff_ankles())).value();
  for (const Lever lever : {Lever::Heel, Lever::AnkleRange, Lever::Stance}) {
    const WhatIf* row = row_of(table, lever);
    ASSERT_NE(row, nullptr);
    EXPECT_LT(row->trunk_change, -2.0 * kDegree) << lever_name(lever);
  }
}

TEST(WhatIf, GainedRangeNeverCountsAgainstTheAthlete) {
  for (const double shoulder : {150.0, 165.0, 180.0}) {
    body::Athlete athlete = stiff_ankles();
    test::set_test(athlete, body::MobilityTest::ShoulderFlexion, shoulder);
    const WhatIfTable table = compute_what_if(input_of(athlete)).value();
    for (const WhatIf& row : table.single) {
      if (row.changes.front().lever < Lever::AnkleRange) continue;
      EXPECT_LT(row.trunk_change, 0.75 * kDegree)
          << lever_name(row.changes.front().lever) << ", shoulder " << shoulder;
    }
  }
}

TEST(WhatIf, PairsBeatSinglesTriplesBeatPairsTheSearchBeatsTheGrid) {
  const WhatIfTable table = compute_what_if(input_of(stiff_ankles())).value();
  double best_single = 0.0;
  for (const WhatIf& row : table.single) {
    if (row.changes.front().lever <= Lever::Grip) {
      best_single = std::min(best_single, row.trunk_change);
    }
  }
  ASSERT_TRUE(table.best_pair);
  ASSERT_TRUE(table.best_triple);
  EXPECT_EQ(table.best_pair->changes.size(), 2u);
  EXPECT_EQ(table.best_triple->changes.size(), 3u);
  EXPECT_LT(table.best_pair->trunk_change, best_single);
  EXPECT_LT(table.best_triple->trunk_change, table.best_pair->trunk_change);
  EXPECT_LT(table.best_setup.trunk_change, table.best_triple->trunk_change + 0.5 * kDegree);
}

TEST(WhatIf, SaysWhatAChangeCosts) {
  const WhatIfInput input = input_of(stiff_ankles());
  const WhatIfTable table = compute_what_if(input).value();
  EXPECT_TRUE(has_cost(*row_of(table, Lever::Heel), Cost::RaisedHeel));
  EXPECT_TRUE(has_cost(*row_of(table, Lever::AnkleRange), Cost::NotAtOnce));
  EXPECT_TRUE(has_cost(*row_of(table, Lever::BarMass), Cost::LessLoad));
  EXPECT_TRUE(has_cost(*row_of(table, Lever::Depth), Cost::LessDepth));
  const double now = input.today.stance_width;
  const WhatIf near = evaluate_changes(input, {{Lever::Stance, now, now + 0.03}}).value();
  const WhatIf far = evaluate_changes(input, {{Lever::Stance, now, now + 0.09}}).value();
  EXPECT_FALSE(has_cost(near, Cost::OutOfCompetitionStance));
  EXPECT_TRUE(has_cost(far, Cost::OutOfCompetitionStance));
  const double crease = input.hip_crease_grip;
  const double grip = input.today.grip_width;
  const WhatIf at_crease = evaluate_changes(input, {{Lever::Grip, grip, crease}}).value();
  const WhatIf inside = evaluate_changes(input, {{Lever::Grip, grip, crease - 0.10}}).value();
  EXPECT_FALSE(has_cost(at_crease, Cost::BarLeavesHipCrease));
  EXPECT_TRUE(has_cost(inside, Cost::BarLeavesHipCrease));
}

TEST(WhatIf, FromAKnownTodayIsTheSameWithoutTheDepth) {
  const WhatIfInput input = input_of(stiff_ankles());
  const Evaluated now = evaluate_most_upright(input.body, input.today, input.limits).value();
  const std::vector<Change> heel = {{Lever::Heel, 0.0, 0.015}};
  const std::vector<Change> grip = {{Lever::Grip, input.today.grip_width, 0.70}};
  for (const auto& changes : {heel, grip}) {
    const WhatIf whole = evaluate_changes(input, changes).value();
    const WhatIf quick = evaluate_changes(input, now, changes).value();
    EXPECT_EQ(quick.trunk_change, whole.trunk_change);
    EXPECT_EQ(quick.trunk_inclination, whole.trunk_inclination);
    EXPECT_EQ(quick.shoulder_change, whole.shoulder_change);
    EXPECT_EQ(quick.possible, whole.possible);
    EXPECT_EQ(quick.costs, whole.costs);
    EXPECT_FALSE(quick.depth_gained);
  }
}

TEST(WhatIf, LeavesTheArmsOutWhereTheBarIsNotOverhead) {
  body::Athlete athlete = stiff_ankles();
  athlete.setup.bar_position = body::BarPosition::Back;
  const WhatIfTable table = compute_what_if(input_of(athlete)).value();
  EXPECT_EQ(row_of(table, Lever::Grip), nullptr);
  EXPECT_EQ(row_of(table, Lever::ShoulderRange), nullptr);
  EXPECT_NE(row_of(table, Lever::Heel), nullptr);
}

}  // namespace
}  // namespace lintel::reasoning
