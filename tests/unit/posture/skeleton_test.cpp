// The closed chain: lengths, mirror, scaling, and the separable formulas of the solver against the
// plain vectors of evaluate_posture.
#include "posture/skeleton.h"

#include <gtest/gtest.h>

#include "posture/problem.h"
#include "posture/solver.h"
#include "support/posture_population.h"

namespace lintel::posture {
namespace {

using body::Segment;

Coordinates random_coordinates(Random& random, double drop) {
  return {random.uniform(0.1, 0.8),   random.uniform(-0.1, 0.1), drop,
          random.uniform(0.0, 0.9),   random.uniform(-0.2, 0.6), random.uniform(-0.2, 0.4),
          random.uniform(-0.15, 0.15)};
}

TEST(Skeleton, KeepsEverySegmentsLength) {
  for (std::uint64_t i = 0; i < 50; ++i) {
    const Model model = test::random_posture_model(11, i);
    Random random(12, i);
    const Solution s = solve_most_upright(model);
    if (s.outcome != Outcome::Solved) continue;
    const Posture& p = s.posture;
    const auto length = [&](Segment seg) { return model.body().lengths[seg].value; };
    EXPECT_NEAR((p.p_WKnee - p.p_WAnkle).norm(), length(Segment::Shank), 1e-12);
    EXPECT_NEAR((p.p_WHip - p.p_WKnee).norm(), length(Segment::Thigh), 1e-12);
    EXPECT_NEAR(p.p_WHip.z(), 0.5 * length(Segment::InterHip), 1e-12);
    EXPECT_NEAR(p.p_WAnkle.z(), 0.5 * model.setup().stance_width, 1e-12);
    if (model.setup().bar_position == body::BarPosition::Overhead) {
      EXPECT_NEAR((p.p_WHand - p.p_WShoulder).norm(),
                  length(Segment::UpperArm) + length(Segment::Forearm) + length(Segment::Grip),
                  1e-12);
      EXPECT_NEAR(p.p_WBar.y(), p.p_WHand.y(), 1e-12);
      EXPECT_NEAR(p.p_WBar.x(), p.p_WHand.x(), 1e-12);
      // Index knuckles lie half a hand's breadth inside the middle of the hands.
      EXPECT_NEAR(p.p_WHand.z() - 0.042, 0.5 * model.setup().grip_width, 1e-12);
    }
    EXPECT_NEAR(p.center_of_pressure, p.p_WCenterOfPressure.x() - p.p_WMidFoot.x(), 1e-12);
  }
}

TEST(Skeleton, SolverFormulasAgreeWithPlainVectors) {
  for (std::uint64_t i = 0; i < 200; ++i) {
    const Model model = test::random_posture_model(13, i);
    Random random(14, i);
    const Problem<double> problem =
        make_problem(model, habitual_weights(), make_inputs<double>(model));
    Point point;
    point.x = random_coordinates(random, problem.frozen_drop);
    if (problem.frozen[6]) point.x[6] = problem.frozen_arm;
    evaluate_point(problem, point);
    const auto value = [&](Quantity q) {
      return point.quantities[static_cast<std::size_t>(q)].value();
    };
    if (value(Quantity::ReachShortfall) > -0.05) continue;
    const Posture p = evaluate_posture(model, point.x);
    EXPECT_NEAR(value(Quantity::TrunkInclination), p.trunk_inclination, 1e-12);
    EXPECT_NEAR(value(Quantity::KneeFlexion), p.knee_flexion, 1e-12);
    EXPECT_NEAR(value(Quantity::HipAbduction), p.hip_abduction, 1e-12);
    EXPECT_NEAR(value(Quantity::HipExternalRotation), p.hip_external_rotation, 1e-12);
    EXPECT_NEAR(value(Quantity::Depth), p.depth, 1e-12);
    EXPECT_NEAR(value(Quantity::Balance),
                p.center_of_pressure - model.setup().center_of_pressure_target, 1e-12);
    EXPECT_NEAR(value(Quantity::AnkleMoment), p.moments.ankle_plantarflexion, 1e-9);
    EXPECT_NEAR(value(Quantity::KneeMoment), p.moments.knee_extension, 1e-9);
    EXPECT_NEAR(std::abs(value(Quantity::KneeFrontal)), std::abs(p.moments.knee.x()), 1e-9);
    EXPECT_NEAR(value(Quantity::HipMoment), p.moments.hip_extension, 1e-9);
    EXPECT_NEAR(std::abs(value(Quantity::HipFrontal)), std::abs(p.moments.hip.x()), 1e-9);
    EXPECT_NEAR(value(Quantity::LowBackMoment), p.moments.low_back_extension, 1e-9);
    EXPECT_NEAR(value(Quantity::ShoulderMoment), p.moments.shoulder_flexion, 1e-9);
  }
}

TEST(Skeleton, GradientAndHessianMatchDifferences) {
  for (std::uint64_t i = 0; i < 40; ++i) {
    const Model model = test::random_posture_model(15, i);
    Random random(16, i);
    ObjectiveWeights weights = habitual_weights();
    weights.trunk_inclination = 1.0;
    weights.thigh_drop = 0.3;  // depth free
    const Problem<double> problem = make_problem(model, weights, make_inputs<double>(model));
    Point point;
    point.x = random_coordinates(random, random.uniform(-0.4, 0.3));
    evaluate_point(problem, point);
    if (point.quantities[static_cast<std::size_t>(Quantity::ReachShortfall)].value() > -0.1)
      continue;
    std::array<double, kLimitCount> y{};
    for (double& value : y) value = random.uniform(0.0, 1.0);
    const Matrix7 hessian = compute_hessian(problem, point, y, 1.0);
    const double h = 1e-6;
    for (std::size_t c = 0; c < kCoordinateCount; ++c) {
      if (problem.frozen[c]) continue;
      Point up, down;
      up.x = down.x = point.x;
      up.x[c] += h;
      down.x[c] -= h;
      evaluate_point(problem, up);
      evaluate_point(problem, down);
      const int column = static_cast<int>(c);
      const double slope = (up.evaluation.objective - down.evaluation.objective) / (2 * h);
      EXPECT_NEAR(point.gradient(column), slope, 1e-5 * (1.0 + std::abs(slope)));
      Vector7 difference = up.gradient - down.gradient;
      for (std::size_t r = 0; r < kLimitCount; ++r) {
        if (!problem.active[r]) continue;
        const int row = static_cast<int>(r);
        const double bend = (up.evaluation.constraint[r] - down.evaluation.constraint[r]) / (2 * h);
        EXPECT_NEAR(point.rows(row, column), bend, 1e-6 * (1.0 + std::abs(bend)));
        difference += y[r] * (up.rows.row(row) - down.rows.row(row)).transpose();
      }
      difference /= 2 * h;
      for (int r = 0; r < kCoordinateCount; ++r) {
        if (problem.frozen[static_cast<std::size_t>(r)]) continue;
        EXPECT_NEAR(hessian(r, column), difference(r), 2e-4 * (1.0 + std::abs(difference(r))));
      }
    }
  }
}

TEST(Skeleton, WiderStanceShortensTheThighInTheSagittalPlane) {
  const test::PostureCase c = test::random_posture_case(17, 0);
  body::Setup setup = c.setup;
  setup.bar_position = body::BarPosition::Overhead;
  setup.surface_height.reset();
  setup.seat_share = 0.0;
  setup.toe_out = 0.0;
  double last = 10.0;
  for (const double stance : {0.20, 0.30, 0.40, 0.50}) {
    setup.stance_width = stance;
    const auto model = Model::create(c.body, setup, c.limits);
    ASSERT_TRUE(model) << model.error();
    const Posture p = evaluate_posture(*model, {0.5, 0.0, 0.0, 0.4, 0.0, 0.0, 0.0});
    const double projection = p.p_WKnee.x() - p.p_WHip.x();
    EXPECT_LT(projection, last);
    last = projection;
  }
}

TEST(Skeleton, HeelElevationPitchesTheFootAndLeavesToesOnTheFloor) {
  const test::PostureCase c = test::random_posture_case(17, 1);
  body::Setup setup = c.setup;
  setup.bar_position = body::BarPosition::Back;
  setup.heel_elevation = 0.025;
  const auto model = Model::create(c.body, setup, c.limits);
  ASSERT_TRUE(model) << model.error();
  const Posture p = evaluate_posture(*model, {0.5, 0.0, 0.0, 0.4, 0.0, 0.0, 0.0});
  const double foot = c.body.lengths[Segment::Foot].value;
  EXPECT_NEAR(std::sin(p.foot_pitch) * 0.73 * foot, 0.025, 1e-12);
  // The distance heel to toe along the floor shrinks by the cosine of the rear foot only.
  EXPECT_NEAR((p.p_WToe - p.p_WHeel).norm(), foot * (0.27 + 0.73 * std::cos(p.foot_pitch)), 1e-12);
  EXPECT_GT(p.p_WAnkle.y(), c.body.lengths[Segment::AnkleHeight].value);
}

}  // namespace
}  // namespace lintel::posture
