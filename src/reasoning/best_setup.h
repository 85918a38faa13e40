// The setup that makes the most upright posture within what the athlete is ready to change.
#pragma once

#include "reasoning/factors.h"

namespace lintel::reasoning {

struct BestSetup {
  body::Setup setup;
  double trunk_inclination = 0.0;   // of its most upright posture [rad]
  double lean = 0.0;                // at equal strain, Evaluated::lean
  double shoulder_elevation = 0.0;  // demanded [rad]
  int solves = 0;
};

// Least (lean at equal strain + change_cost * sum of ((lever - today) / width of its range)^2) over
// stance, toe-out, heel and grip: pattern search from today's setup (Hooke & Jeeves 1961), steps
// from a quarter to 1/128 of each range. The small cost keeps levers that buy nothing where they
// are. About 100 solves. Errors: those of Model::create and validate(allowed).
Result<BestSetup> find_best_setup(const posture::BodyParameters& body, const body::Setup& today,
                                  const posture::Limits& limits, const AllowedSetup& allowed);

}  // namespace lintel::reasoning
