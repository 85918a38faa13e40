// The seated hold against statics done by hand on the same posture.
#include "plan/seated_hold.h"

#include <gtest/gtest.h>

#include <cmath>

#include "body/tables.h"
#include "plan/plan.h"
#include "support/reasoning_athletes.h"

namespace lintel::plan {
namespace {

struct Case {
  posture::BodyParameters body;
  body::Setup setup;
  posture::Limits limits;
};

Case stiff_ankle_case() {
  body::Athlete athlete = test::ordinary_athlete();
  test::set_test(athlete, body::MobilityTest::AnkleDorsiflexion, 30);
  athlete.setup.grip_width = 1.0;
  athlete.setup.toe_out = 0.0;
  athlete.setup.stance_width = 0.30;
  const auto c = test::reasoning_case(athlete);
  return {c.body, athlete.setup, c.limits.limits};
}

TEST(SeatedHold, SurfaceAndFeetTogetherCarryTheWholeWeight) {
  const Case c = stiff_ankle_case();
  const auto options = default_seated_hold_options();
  for (const double height : {0.25, 0.35, 0.45}) {
    const auto hold = compute_seated_hold(c.body, c.setup, c.limits, height, options);
    ASSERT_TRUE(hold.has_value()) << hold.error();
    const double total = c.body.body_mass + options.bar_mass;
    EXPECT_NEAR(hold->on_surface + hold->on_feet, total, 1e-9);
    EXPECT_NEAR(hold->total_weight, total, 1e-9);
    EXPECT_NEAR(hold->on_surface, 0.5 * total, 1e-9);  // half of it is left on the surface
  }
}

// Weights, ground and surface in balance about the ankle, and the knee moment, with plain
// arithmetic on the posture's joints (toes straight ahead: everything in the sagittal plane).
TEST(SeatedHold, MomentsEqualTheStaticsByHand) {
  const Case c = stiff_ankle_case();
  const auto options = default_seated_hold_options();
  const auto plan = plan_seated_hold(c.body, c.setup, c.limits, options);
  ASSERT_TRUE(plan.has_value());
  const double height = plan->now.surface_height;
  const auto hold = compute_seated_hold(c.body, c.setup, c.limits, height, options);
  ASSERT_TRUE(hold.has_value());
  ASSERT_TRUE(hold->possible);
  body::Setup setup = c.setup;
  setup.surface_height = height;
  setup.seat_share = options.seat_share;
  setup.bar_mass = options.bar_mass;
  const auto model = posture::Model::create(c.body, setup, c.limits);
  const posture::Posture p = posture::solve_most_upright(*model).posture;
  const double g = 9.80665;
  const double total = (c.body.body_mass + options.bar_mass) * g;
  const double seat = hold->on_surface * g, feet = hold->on_feet * g;
  const double cop = p.p_WCenterOfPressure.x();
  EXPECT_NEAR(total * p.p_WCenterOfMass.x(), seat * p.p_WHip.x() + feet * cop, 1e-6 * total);
  // The hip lies 9 cm above the surface (data/mobility/limits.csv).
  EXPECT_NEAR(p.p_WHip.y(), height + 0.09, 1e-9);

  const auto part = [&c](body::Part which) {
    return c.body.parts[static_cast<std::size_t>(which)];
  };
  const double weight = c.body.body_mass * g;
  const double foot = part(body::Part::Foot).mass_fraction * weight;
  const double shank = part(body::Part::Shank).mass_fraction * weight;
  // Centres from the upper end; the foot's between heel and toe.
  const double shank_x =
      p.p_WKnee.x() + part(body::Part::Shank).center_of_mass * (p.p_WAnkle.x() - p.p_WKnee.x());
  const double foot_x =
      p.p_WHeel.x() + part(body::Part::Foot).center_of_mass * (p.p_WToe.x() - p.p_WHeel.x());
  const double knee_x = p.p_WKnee.x();
  const double by_hand =
      0.5 * feet * (knee_x - cop) - shank * (knee_x - shank_x) - foot * (knee_x - foot_x);
  EXPECT_NEAR(hold->moments.knee_extension, by_hand, 1e-6 * std::abs(by_hand) + 1e-9);
}

TEST(SeatedHold, LegsGiveMoreOnceTheWeightIsOffTheSurface) {
  const Case c = stiff_ankle_case();
  const auto hold =
      compute_seated_hold(c.body, c.setup, c.limits, 0.35, default_seated_hold_options());
  ASSERT_TRUE(hold.has_value());
  EXPECT_GT(hold->lifted.hip_extension + hold->lifted.knee_extension,
            hold->moments.hip_extension + hold->moments.knee_extension);
}

TEST(SeatedHold, LadderGoesFromTheHeightOfTodayDownToFullDepthAndRestsInLighterWeeks) {
  const Case c = stiff_ankle_case();
  auto options = default_seated_hold_options();
  options.weeks = 8;
  const auto plan = plan_seated_hold(c.body, c.setup, c.limits, options);
  ASSERT_TRUE(plan.has_value()) << plan.error();
  ASSERT_EQ(plan->ladder.size(), 8u);
  EXPECT_FALSE(plan->starts_at_full_depth);
  EXPECT_LE(plan->now.lifted_inclination, plan->acceptable_inclination);
  EXPECT_DOUBLE_EQ(plan->ladder.front().surface_height, plan->now.surface_height);
  for (std::size_t i = 1; i < plan->ladder.size(); ++i) {
    EXPECT_LE(plan->ladder[i].surface_height, plan->ladder[i - 1].surface_height + 1e-12);
    if (is_deload_week(static_cast<int>(i) + 1)) {
      EXPECT_DOUBLE_EQ(plan->ladder[i].surface_height, plan->ladder[i - 1].surface_height);
    }
  }
  EXPECT_NEAR(plan->ladder.back().surface_height, plan->full_depth_height, options.step + 1e-9);
  EXPECT_GE(plan->ladder.back().surface_height, plan->full_depth_height - 1e-9);
  // One step lower than today's the trunk would lean too far, or the ranges exclude it.
  const auto lower = compute_seated_hold(c.body, c.setup, c.limits,
                                         plan->now.surface_height - options.step, options);
  EXPECT_TRUE(!lower->possible || lower->lifted_inclination > plan->acceptable_inclination);
}

TEST(SeatedHold, StartsNoLowerForSomebodyWhoLeansOutOfHabit) {
  const Case c = stiff_ankle_case();
  auto options = default_seated_hold_options();
  const double without = plan_seated_hold(c.body, c.setup, c.limits, options)->now.surface_height;
  options.habit = 6.0 * kRadiansPerDegree;
  const auto plan = plan_seated_hold(c.body, c.setup, c.limits, options);
  EXPECT_GE(plan->now.surface_height, without);
  const auto hold = compute_seated_hold(c.body, c.setup, c.limits, 0.4, options);
  options.habit = 0.0;
  const auto bare = compute_seated_hold(c.body, c.setup, c.limits, 0.4, options);
  EXPECT_NEAR(hold->lifted_inclination - bare->lifted_inclination, 6.0 * kRadiansPerDegree, 1e-9);
  EXPECT_DOUBLE_EQ(hold->on_surface, bare->on_surface);
}

TEST(SeatedHold, SaysSoWhenFullDepthCanBeUsedNow) {
  const body::Athlete athlete = test::ordinary_athlete();
  const auto c = test::reasoning_case(athlete);
  const auto plan =
      plan_seated_hold(c.body, athlete.setup, c.limits.limits, default_seated_hold_options());
  ASSERT_TRUE(plan.has_value());
  EXPECT_TRUE(plan->starts_at_full_depth);
  EXPECT_FALSE(plan->notes.empty());
}

}  // namespace
}  // namespace lintel::plan
