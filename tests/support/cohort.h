// A synthetic cohort: athletes whose true limiter is known, tested and filmed with realistic
// errors.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "reasoning/explain.h"

namespace lintel::test {

// One athlete: what is true, and what the helper with tape and camera would note down.
struct CohortAthlete {
  body::Athlete noted;          // tests with error, lengths estimated from stature
  reasoning::Observation seen;  // lean with error
  reasoning::Factor injected = reasoning::Factor::Ankle;
  // True body, limits and couplings; best setup is that of the explanation.
  posture::BodyParameters body;
  posture::Limits limits;
  double habit = 0.0;  // true [rad]
};
// Stream `index` of `seed`: ordinary adults near the reference mobility with a good setup, then one
// factor made worse by a random amount; every test done, with the errors of
// data/mobility/limits.csv; half of the ankles by inclinometer, half by knee to wall. Nothing if
// the setup does not fit.
std::optional<CohortAthlete> cohort_athlete(std::uint64_t seed, std::uint64_t index);

// What the camera shows of the athlete at the bottom, and what is true about the parts of the lean
// (against the best setup of the explanation with every test done). Nothing where the setup does
// not fit the body.
struct CohortView {
  reasoning::Observation seen;
  std::array<double, reasoning::kFactorCount> true_part{};  // [rad]
  reasoning::Factor truly_largest = reasoning::Factor::Ankle;
};
std::optional<CohortView> look_at(const CohortAthlete& athlete, std::uint64_t seed);

struct CohortOutcome {
  bool valid = false;
  reasoning::Factor injected = reasoning::Factor::Ankle;
  reasoning::Factor named = reasoning::Factor::Ankle;  // most probable
  reasoning::Factor truly_largest = reasoning::Factor::Ankle;
  double injected_part = 0.0;  // true [rad]
  std::array<double, reasoning::kFactorCount> probability{};
  std::array<double, reasoning::kFactorCount> true_part{};
  std::array<bool, reasoning::kFactorCount> covered{};  // by the 95 % interval
};
CohortOutcome examine(const CohortAthlete& athlete, int draws, std::uint64_t seed);

}  // namespace lintel::test
