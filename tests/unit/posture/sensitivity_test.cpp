#include "posture/sensitivity.h"

#include <gtest/gtest.h>

#include "support/posture_population.h"

namespace lintel::posture {
namespace {

// A copy of the model with one parameter moved.
std::optional<Model> moved(const Model& model, int parameter, double by) {
  BodyParameters body = model.body();
  body::Setup setup = model.setup();
  Limits limits = model.limits();
  if (parameter < kLimitCount) {
    limits.edges[static_cast<std::size_t>(parameter)].edge += by;
  } else if (parameter < kLimitCount + kLeverCount) {
    switch (static_cast<Lever>(parameter - kLimitCount)) {
      case Lever::StanceWidth:
        setup.stance_width += by;
        break;
      case Lever::ToeOut:
        setup.toe_out += by;
        break;
      case Lever::HeelElevation:
        setup.heel_elevation += by;
        break;
      case Lever::GripWidth:
        setup.grip_width += by;
        break;
      case Lever::BarMass:
        setup.bar_mass += by;
        break;
      case Lever::Depth:
        setup.depth += by;
        break;
      case Lever::SurfaceHeight:
        if (setup.surface_height) *setup.surface_height += by;
        break;
      case Lever::SeatShare:
        setup.seat_share += by;
        break;
      case Lever::CenterOfPressureTarget:
        setup.center_of_pressure_target += by;
        break;
    }
  } else {
    body.lengths.length[static_cast<std::size_t>(parameter - kLimitCount - kLeverCount)].value +=
        by;
  }
  auto model2 = Model::create(body, setup, limits);
  if (!model2) return std::nullopt;
  return std::move(model2).value();
}

double by_parameter(const OutputSensitivity& s, int parameter) {
  if (parameter < kLimitCount) return s.by_limit[static_cast<std::size_t>(parameter)];
  if (parameter < kLimitCount + kLeverCount) {
    return s.by_lever[static_cast<std::size_t>(parameter - kLimitCount)];
  }
  return s.by_length[static_cast<std::size_t>(parameter - kLimitCount - kLeverCount)];
}

TEST(Sensitivity, MatchesCentralDifferencesToOneInTenThousand) {
  int compared = 0;
  int skipped = 0;
  double worst = 0.0;
  Options tight;
  tight.tolerance = 1e-13;
  for (std::uint64_t i = 0; i < 60; ++i) {
    const Model model = test::random_posture_model(41, i);
    const auto weights = i % 3 == 0 ? habitual_weights() : most_upright_weights();
    Options first = tight;
    first.tolerance = 1e-11;
    const Solution s = solve(model, weights, first);
    if (s.outcome != Outcome::Solved) continue;
    const auto sensitivities = compute_sensitivities(model, s);
    ASSERT_TRUE(sensitivities) << sensitivities.error();
    for (int parameter = 0; parameter < kParameterCount; ++parameter) {
      if (parameter < kLimitCount &&
          (static_cast<Limit>(parameter) == Limit::ThighReach ||
           !std::isfinite(model.limits().edges[static_cast<std::size_t>(parameter)].edge))) {
        continue;
      }
      // Richardson: differences with h and h / 2, which must agree with each other before they
      // judge.
      const auto difference = [&](double h) -> std::optional<double> {
        const auto up = moved(model, parameter, h);
        const auto down = moved(model, parameter, -h);
        if (!up || !down) return std::nullopt;
        const Solution a = solve(*up, weights, first, &s.warm_start);
        const Solution b = solve(*down, weights, first, &s.warm_start);
        if (a.outcome != Outcome::Solved || b.outcome != Outcome::Solved) return std::nullopt;
        return (a.posture.trunk_inclination - b.posture.trunk_inclination) / (2.0 * h);
      };
      const double h = static_cast<Lever>(parameter - kLimitCount) == Lever::BarMass ? 1e-2 : 1e-5;
      const auto coarse = difference(h);
      const auto fine = difference(0.5 * h);
      if (!coarse || !fine) continue;
      const double expected = (4.0 * *fine - *coarse) / 3.0;
      const double found = by_parameter(sensitivities->trunk_inclination, parameter);
      const double scale = std::max(1e-3, std::abs(expected));
      if (std::abs(*fine - *coarse) > 3e-5 * scale) {
        ++skipped;  // an edge is just being touched: no derivative there
        continue;
      }
      worst = std::max(worst, std::abs(found - expected) / scale);
      EXPECT_NEAR(found, expected, 1e-4 * scale) << "case " << i << " parameter " << parameter;
      ++compared;
    }
  }
  std::cout << compared << " derivatives compared, " << skipped
            << " skipped at kinks, largest relative difference " << worst << "\n";
  EXPECT_GT(compared, 1000);
  EXPECT_LT(skipped, compared / 10);
}

TEST(Sensitivity, ALimitThatDoesNotBindHasExactlyZero) {
  int zeros = 0;
  for (std::uint64_t i = 0; i < 60; ++i) {
    const Model model = test::random_posture_model(42, i);
    const Solution s = solve_most_upright(model);
    if (s.outcome != Outcome::Solved) continue;
    const auto sensitivities = compute_sensitivities(model, s).value();
    for (int k = 0; k < kLimitCount; ++k) {
      const auto u = static_cast<std::size_t>(k);
      if (s.binds(static_cast<Limit>(k))) continue;
      EXPECT_EQ(sensitivities.trunk_inclination.by_limit[u], 0.0);
      EXPECT_EQ(sensitivities.shoulder_elevation.by_limit[u], 0.0);
      EXPECT_EQ(sensitivities.depth.by_limit[u], 0.0);
      ++zeros;
    }
  }
  EXPECT_GT(zeros, 300);
}

TEST(Sensitivity, OfDepthComesFromTheDeepestPosture) {
  int compared = 0;
  for (std::uint64_t i = 0; i < 30; ++i) {
    const Model model = test::random_posture_model(43, i);
    Options tight;
    tight.tolerance = 1e-11;
    const Solution s = solve_deepest(model, tight);
    if (s.outcome != Outcome::Solved || model.setup().surface_height) continue;
    const auto sensitivities = compute_sensitivities(model, s);
    ASSERT_TRUE(sensitivities);
    const int ankle = static_cast<int>(Limit::AnkleDorsiflexion);
    const double h = 1e-5;
    const Solution a = solve_deepest(*moved(model, ankle, h), tight, &s.warm_start);
    const Solution b = solve_deepest(*moved(model, ankle, -h), tight, &s.warm_start);
    if (a.outcome != Outcome::Solved || b.outcome != Outcome::Solved) continue;
    const double expected = (a.posture.depth - b.posture.depth) / (2 * h);
    EXPECT_NEAR(sensitivities->depth.by_limit[static_cast<std::size_t>(ankle)], expected,
                2e-3 * (0.01 + std::abs(expected)));
    ++compared;
  }
  EXPECT_GT(compared, 10);
}

TEST(Sensitivity, AsksForASolvedPosture) {
  const Model model = test::random_posture_model(44, 0);
  Solution s;
  EXPECT_FALSE(compute_sensitivities(model, s));
}

}  // namespace
}  // namespace lintel::posture
