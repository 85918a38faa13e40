// Athletes of ordinary proportions for the tests of the answers.
#pragma once

#include "body/athlete.h"
#include "reasoning/explain.h"

namespace lintel::test {

inline Estimate degrees_of(double value, double standard_error = 0.0) {
  return {value * kRadiansPerDegree, standard_error * kRadiansPerDegree};
}

// Ordinary proportions, every test done and at the reference of data/mobility/limits.csv.
inline body::Athlete ordinary_athlete(body::Sex sex = body::Sex::Male, double stature = 1.75) {
  using body::MobilityTest;
  body::Athlete athlete;
  athlete.id = "a1";
  athlete.name = "Jorun Havnes";
  athlete.sex = sex;
  athlete.stature = stature;
  athlete.body_mass = 24.0 * stature * stature;
  const auto set = [&](MobilityTest test, double value) {
    athlete.tests[test] = {degrees_of(value), degrees_of(value)};
  };
  set(MobilityTest::AnkleDorsiflexion, 45);
  set(MobilityTest::KneeFlexion, 157);
  set(MobilityTest::HipFlexion, 130);
  set(MobilityTest::HipAbduction, 50);
  set(MobilityTest::HipExternalRotation, 45);
  set(MobilityTest::LumbarFlexion, 30);
  set(MobilityTest::ThoracicExtension, 25);
  set(MobilityTest::ShoulderFlexion, 180);
  set(MobilityTest::ArmToWallTurnedOut, -10);
  return athlete;
}

inline void set_test(body::Athlete& athlete, body::MobilityTest test, double degrees) {
  athlete.tests[test] = {degrees_of(degrees), degrees_of(degrees)};
}

inline reasoning::Observation seen_lean(double degrees, double standard_error = 1.5) {
  reasoning::Observation seen;
  seen.trunk_inclination = degrees_of(degrees, standard_error);
  return seen;
}

// What explain() compares, without errors.
struct ReasoningCase {
  posture::BodyParameters body;
  posture::AthleteLimits limits;
  reasoning::AllowedSetup allowed;
  reasoning::Comparison comparison;
};
inline ReasoningCase reasoning_case(const body::Athlete& athlete) {
  ReasoningCase c;
  c.body = posture::body_parameters(athlete).value();
  c.limits = posture::limits_from_tests(athlete, c.body.lengths).value();
  c.allowed = reasoning::default_allowed_setup(c.body, athlete.setup);
  const posture::Limits reference = reasoning::reference_mobility(c.limits.limits, c.body.lengths);
  const auto best = reasoning::find_best_setup(c.body, athlete.setup, reference, c.allowed).value();
  c.comparison = {c.body, athlete.setup, best.setup, c.limits.limits, reference};
  return c;
}

}  // namespace lintel::test
