#include <cmath>

#include <gtest/gtest.h>

#include "body/anthropometry.h"
#include "posture/posture.h"

namespace lintel::posture {
namespace {

constexpr double kDegree = kRadiansPerDegree;

Model with(double ankle, double shoulder, body::Sex sex = body::Sex::Male) {
  const double stature = sex == body::Sex::Male ? 1.75 : 1.63;
  const auto lengths = body::estimate_segments(sex, stature).value();
  body::Setup setup;
  setup.depth = 0.05;
  Limits limits = average_limits(lengths[body::Segment::Foot].value);
  limits[Limit::AnkleDorsiflexion].edge = ankle * kDegree;
  limits[Limit::ShoulderElevation].edge = shoulder * kDegree;
  return Model::create(make_body_parameters(sex, stature, 75.0, lengths), setup, limits).value();
}

TEST(Infeasible, ARigidAnkleMakesTheDeepPositionImpossible) {
  for (const body::Sex sex : {body::Sex::Female, body::Sex::Male}) {
    const Model model = with(2.0, 175.0, sex);
    const Solution s = solve_most_upright(model);
    ASSERT_EQ(s.outcome, Outcome::Infeasible);
    EXPECT_TRUE(s.conflict[static_cast<std::size_t>(Limit::AnkleDorsiflexion)]);
    EXPECT_TRUE(s.conflict[static_cast<std::size_t>(Limit::BalanceBackward)]);
    EXPECT_FALSE(s.conflict[static_cast<std::size_t>(Limit::KneeFlexion)]);
  }
}

TEST(Infeasible, TheSmallestFixIsPossibleAndSmaller) {
  const Model model = with(27.0, 176.0);
  const Solution s = solve_most_upright(model);
  ASSERT_EQ(s.outcome, Outcome::Infeasible);
  const Infeasibility why = explain_infeasibility(model, s);
  const Fix heel = why.by_lever[static_cast<std::size_t>(Lever::HeelElevation)];
  ASSERT_TRUE(heel.possible);
  EXPECT_GT(heel.change, 0.0);
  const auto outcome_at = [&](double heel_elevation) {
    body::Setup setup = model.setup();
    setup.heel_elevation = heel_elevation;
    return solve_most_upright(Model::create(model.body(), setup, model.limits()).value()).outcome;
  };
  EXPECT_EQ(outcome_at(heel.value), Outcome::Solved);
  EXPECT_EQ(outcome_at(heel.value - 0.001), Outcome::Infeasible);
  const Fix ankle = why.by_limit[static_cast<std::size_t>(Limit::AnkleDorsiflexion)];
  ASSERT_TRUE(ankle.possible);
  Limits limits = model.limits();
  limits[Limit::AnkleDorsiflexion].edge = ankle.value;
  EXPECT_EQ(solve_most_upright(Model::create(model.body(), model.setup(), limits).value()).outcome,
            Outcome::Solved);
  const Fix grip = why.by_lever[static_cast<std::size_t>(Lever::GripWidth)];
  if (grip.possible) {
    EXPECT_GT(grip.change, 0.0);
  }
  ASSERT_TRUE(why.deepest_known);
  EXPECT_LT(why.deepest, model.setup().depth);
}

TEST(Infeasible, DeepestDepthIsItselfPossible) {
  const Model model = with(30.0, 172.0);
  const Solution deepest = solve_deepest(model);
  ASSERT_EQ(deepest.outcome, Outcome::Solved);
  body::Setup setup = model.setup();
  setup.depth = deepest.posture.depth - 1e-6;
  const Solution s = solve_most_upright(Model::create(model.body(), setup, model.limits()).value(),
                                        {}, &deepest.warm_start);
  EXPECT_EQ(s.outcome, Outcome::Solved);
}

TEST(Infeasible, AStanceThatLegsCannotSpanIsAResult) {
  const Model model = with(40.0, 180.0);
  body::Setup setup = model.setup();
  setup.stance_width = 1.3;
  setup.toe_out = 0.0;
  const Solution s = solve_most_upright(Model::create(model.body(), setup, model.limits()).value());
  EXPECT_EQ(s.outcome, Outcome::Infeasible);
  for (const double v : s.posture.coordinates) EXPECT_TRUE(std::isfinite(v));
}

TEST(Sides, TheStifferAnkleCarriesTheCost) {
  body::Athlete a;
  a.sex = body::Sex::Male;
  a.stature = 1.75;
  a.body_mass = 80.0;
  a.tests[body::MobilityTest::AnkleDorsiflexion] = {Estimate{45.0 * kDegree, 0.0},
                                                    Estimate{38.0 * kDegree, 0.0}};
  a.tests[body::MobilityTest::ShoulderFlexion] = {Estimate{180.0 * kDegree, 0.0}, std::nullopt};
  const auto body = body_parameters(a).value();
  const auto limits = limits_from_tests(a, body.lengths).value();
  const auto sides = solve_sides(body, a.setup, limits);
  ASSERT_TRUE(sides);
  ASSERT_EQ(sides->worse_of_both.outcome, Outcome::Solved);
  EXPECT_GT(sides->cost_of_right, 2.0 * kDegree);
  EXPECT_NEAR(sides->cost_of_left, 0.0, 1e-9);
}

TEST(Sides, AMirroredAthleteGetsTheMirroredAnswer) {
  body::Athlete a;
  a.sex = body::Sex::Female;
  a.stature = 1.68;
  a.body_mass = 63.0;
  a.tests[body::MobilityTest::AnkleDorsiflexion] = {Estimate{46.0 * kDegree, 0.0},
                                                    Estimate{41.0 * kDegree, 0.0}};
  a.tests[body::MobilityTest::HipFlexion] = {Estimate{115.0 * kDegree, 0.0},
                                             Estimate{125.0 * kDegree, 0.0}};
  a.tests[body::MobilityTest::ShoulderFlexion] = {Estimate{180.0 * kDegree, 0.0}, std::nullopt};
  body::Athlete mirrored = a;
  for (auto& sides : mirrored.tests.results) {
    if (sides[0] && sides[1]) std::swap(sides[0], sides[1]);
  }
  const auto solve_for = [](const body::Athlete& athlete) {
    const auto body = body_parameters(athlete).value();
    const auto limits = limits_from_tests(athlete, body.lengths).value();
    return solve_sides(body, athlete.setup, limits).value();
  };
  const SideCost one = solve_for(a);
  const SideCost other = solve_for(mirrored);
  ASSERT_EQ(one.worse_of_both.outcome, Outcome::Solved);
  EXPECT_EQ(one.worse_of_both.objective, other.worse_of_both.objective);
  EXPECT_NEAR(one.cost_of_left, other.cost_of_right, 1e-9);
  EXPECT_NEAR(one.cost_of_right, other.cost_of_left, 1e-9);
}

}  // namespace
}  // namespace lintel::posture
