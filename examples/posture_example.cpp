// The posture model as a library: one athlete, the most upright squat, what pushes the trunk
// forward, and what a heel of 13 mm would buy. Prints a few lines.
#include <cstdio>
#include <string>

#include "reasoning/explain.h"

using namespace lintel;

int main() {
  body::Athlete athlete;
  athlete.sex = body::Sex::Female;
  athlete.stature = 1.68;    // metres
  athlete.body_mass = 64.0;  // kilograms
  athlete.setup.bar_mass = 20.0;
  const Estimate knee_to_wall{Length::centimetres(7.5).metres(),
                              0.0};  // 0: usual error of the test
  athlete.tests[body::MobilityTest::KneeToWall] = {knee_to_wall, knee_to_wall};

  // The posture alone: body, limits, model, solution.
  const auto body = posture::body_parameters(athlete);
  if (!body) return std::fprintf(stderr, "%s\n", describe(body.error()).c_str()), 1;
  const auto limits = posture::limits_from_tests(athlete, body->lengths);
  if (!limits) return std::fprintf(stderr, "%s\n", describe(limits.error()).c_str()), 1;
  const auto model = posture::Model::create(*body, athlete.setup, limits->limits);
  if (!model) return std::fprintf(stderr, "%s\n", describe(model.error()).c_str()), 1;
  const posture::Solution solution = posture::solve_most_upright(*model);
  std::printf("%s: trunk %.1f deg, shank %.1f deg, knee moment %.0f N m a leg\n",
              std::string(posture::outcome_name(solution.outcome)).c_str(),
              Angle::radians(solution.posture.trunk_inclination).degrees(),
              Angle::radians(solution.posture.shank_inclination).degrees(),
              solution.posture.moments.knee_extension);

  // The answers: a trunk of 45 degrees was seen.
  reasoning::Observation seen;
  seen.trunk_inclination = Estimate{Angle::degrees(45).radians(), Angle::degrees(2).radians()};
  SerialExecutor executor;
  reasoning::ExplainOptions options;
  options.draws = 500;
  const auto answer = reasoning::explain(athlete, seen, options, executor, {});
  if (!answer) return std::fprintf(stderr, "%s\n", describe(answer.error()).c_str()), 1;
  for (std::size_t i = 0; i < reasoning::kFactorCount; ++i) {
    std::printf("  %-12s %5.1f deg, largest with probability %.0f %%\n",
                std::string(reasoning::factor_name(static_cast<reasoning::Factor>(i))).c_str(),
                Angle::radians(answer->shares.parts[i]).degrees(),
                100.0 * answer->uncertainty.probability_largest[i]);
  }
  for (const reasoning::WhatIf& row : answer->what_if->single) {
    if (row.changes.front().lever != reasoning::Lever::Heel) continue;
    std::printf("heels at %.1f cm: %.1f deg more upright\n",
                Length::metres(row.changes.front().to).centimetres(),
                Angle::radians(-row.trunk_change).degrees());
  }
  return 0;
}
