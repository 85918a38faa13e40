#include "posture/solver.h"

#include <gtest/gtest.h>

#include "body/anthropometry.h"
#include "support/posture_population.h"

namespace lintel::posture {
namespace {

constexpr double kDegree = kRadiansPerDegree;

BodyParameters ordinary_body() {
  return make_body_parameters(body::Sex::Male, 1.75, 80.0,
                              body::estimate_segments(body::Sex::Male, 1.75).value());
}

Limits good_limits() {
  return reference_limits(0.27);
}

TEST(Solver, KktConditionsHoldAtEverySolution) {
  int solved = 0;
  for (std::uint64_t i = 0; i < 300; ++i) {
    const Model model = test::random_posture_model(31, i);
    for (const auto& weights : {most_upright_weights(), habitual_weights()}) {
      const Solution s = solve(model, weights);
      ASSERT_NE(s.outcome, Outcome::IterationLimit) << "case " << i;
      if (s.outcome != Outcome::Solved) continue;
      ++solved;
      const Problem<double> p = make_problem(model, weights, make_inputs<double>(model));
      Point point;
      point.x = s.posture.coordinates;
      evaluate_point(p, point);
      Vector7 residual = point.gradient;
      for (int k = 0; k < kLimitCount; ++k) {
        const auto u = static_cast<std::size_t>(k);
        if (!p.active[u]) continue;
        EXPECT_LE(point.evaluation.constraint[u], 1e-9);
        EXPECT_GE(s.multipliers[u], 0.0);
        EXPECT_NEAR(s.multipliers[u] * point.evaluation.constraint[u], 0.0, 1e-8);
        residual += s.multipliers[u] * point.rows.row(k).transpose();
      }
      double largest = 1.0;
      for (const double m : s.multipliers) largest = std::max(largest, 1.0 + m);
      EXPECT_LE(residual.cwiseAbs().maxCoeff(), 1e-8 * largest) << "case " << i;
    }
  }
  EXPECT_GT(solved, 400);
}

TEST(Solver, ALooserLimitNeverMakesTheBestPostureWorse) {
  int compared = 0;
  for (std::uint64_t i = 0; i < 60; ++i) {
    const Model model = test::random_posture_model(32, i);
    const Solution before = solve_most_upright(model);
    for (int k = 0; k < kLimitCount; ++k) {
      if (static_cast<Limit>(k) == Limit::ThighReach) continue;
      Limits looser = model.limits();
      looser.edges[static_cast<std::size_t>(k)].edge +=
          is_length(static_cast<Limit>(k)) ? 0.01 : 4.0 * kDegree;
      const auto changed = Model::create(model.body(), model.setup(), looser);
      ASSERT_TRUE(changed);
      const Solution after = solve_most_upright(*changed, {}, &before.warm_start);
      if (before.outcome != Outcome::Solved) continue;
      ASSERT_EQ(after.outcome, Outcome::Solved) << i << " " << limit_name(static_cast<Limit>(k));
      EXPECT_LE(after.objective, before.objective + 1e-9)
          << i << " " << limit_name(static_cast<Limit>(k));
      ++compared;
    }
  }
  EXPECT_GT(compared, 500);
}

TEST(Solver, WarmAndColdStartsEndTogether) {
  for (std::uint64_t i = 0; i < 100; ++i) {
    const Model model = test::random_posture_model(33, i);
    const Solution cold = solve_most_upright(model);
    if (cold.outcome != Outcome::Solved) continue;
    WarmStart near = cold.warm_start;
    for (std::size_t k = 0; k < kCoordinateCount; ++k) near.coordinates[k] += 0.01;
    const Solution warm = solve_most_upright(model, {}, &near);
    ASSERT_EQ(warm.outcome, Outcome::Solved);
    EXPECT_NEAR(warm.objective, cold.objective, 1e-9);
    EXPECT_LE(warm.iterations, 25);
  }
}

TEST(Solver, SameInputSameBits) {
  const Model model = test::random_posture_model(34, 5);
  const Solution a = solve_most_upright(model);
  const Solution b = solve_most_upright(model);
  EXPECT_EQ(a.posture.coordinates, b.posture.coordinates);
  EXPECT_EQ(a.objective, b.objective);
}

TEST(MostUpright, AStiffAnkleLeansTheTrunkForward) {
  body::Setup setup;
  double last = 0.0;
  for (const double ankle : {45.0, 40.0, 36.0}) {
    Limits limits = good_limits();
    limits[Limit::AnkleDorsiflexion].edge = ankle * kDegree;
    const auto model = Model::create(ordinary_body(), setup, limits).value();
    const Solution s = solve_most_upright(model);
    ASSERT_EQ(s.outcome, Outcome::Solved);
    EXPECT_TRUE(s.binds(Limit::AnkleDorsiflexion));
    EXPECT_GT(s.posture.trunk_inclination, last);
    last = s.posture.trunk_inclination;
  }
}

TEST(MostUpright, IsNeverMoreInclinedThanHabitual) {
  int compared = 0;
  for (std::uint64_t i = 0; i < 150; ++i) {
    const Model model = test::random_posture_model(35, i);
    const Solution upright = solve_most_upright(model);
    const Solution habitual = solve_habitual(model, {}, &upright.warm_start);
    if (upright.outcome != Outcome::Solved || habitual.outcome != Outcome::Solved) continue;
    // Measured by its own objective, nothing is more upright.
    const Problem<double> p =
        make_problem(model, most_upright_weights(), make_inputs<double>(model));
    Point point;
    point.x = habitual.posture.coordinates;
    evaluate_point(p, point);
    EXPECT_GE(point.evaluation.objective, upright.objective - 1e-9);
    ++compared;
  }
  EXPECT_GT(compared, 80);
}

TEST(Deepest, ReachesAtLeastEveryDepthThatIsPossible) {
  int compared = 0;
  for (std::uint64_t i = 0; i < 20; ++i) {
    Model model = test::random_posture_model(36, i);
    if (model.setup().surface_height) continue;
    const Solution deepest = solve_deepest(model);
    for (const double depth : {-0.10, 0.0, 0.10}) {
      body::Setup setup = model.setup();
      setup.depth = depth;
      const Model at = Model::create(model.body(), setup, model.limits()).value();
      const Solution s = solve_most_upright(at);
      if (s.outcome != Outcome::Solved) continue;
      ASSERT_EQ(deepest.outcome, Outcome::Solved);
      const Problem<double> p = make_problem(at, deepest_weights(), make_inputs<double>(at));
      Point point;
      point.x = s.posture.coordinates;
      evaluate_point(p, point);
      EXPECT_GE(point.evaluation.objective, deepest.objective - 1e-9) << i << " " << depth;
      ++compared;
    }
  }
  EXPECT_GT(compared, 20);
}

TEST(Model, RefusesWhatCannotBe) {
  body::Setup setup;
  const auto field = [&](auto&& change) {
    body::Setup s = setup;
    change(s);
    const auto model = Model::create(ordinary_body(), s, good_limits());
    return model ? std::string("accepted") : model.error().place.field;
  };
  EXPECT_EQ(field([](body::Setup& s) { s.bar_mass = 900.0; }), "setup.bar_mass");
  EXPECT_EQ(field([](body::Setup& s) { s.grip_width = 0.26; }), "setup.grip_width");
  EXPECT_EQ(field([](body::Setup& s) { s.stance_width = -0.3; }), "setup.stance_width");
  EXPECT_EQ(field([](body::Setup& s) { s.depth = std::nan(""); }), "setup.depth");
  Limits limits = good_limits();
  limits[Limit::HipFlexion].edge = std::nan("");
  EXPECT_EQ(Model::create(ordinary_body(), setup, limits).error().place.field,
            "limits.hip_flexion");
  BodyParameters body = ordinary_body();
  body.lengths[body::Segment::Thigh].value = -0.4;
  EXPECT_EQ(Model::create(body, setup, good_limits()).error().place.field, "lengths.thigh");
}

}  // namespace
}  // namespace lintel::posture
