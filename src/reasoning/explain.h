// The main entry: why this athlete leans, how sure that is, what each change would buy.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/executor.h"
#include "base/progress.h"
#include "base/result.h"
#include "reasoning/grip.h"
#include "reasoning/seen_posture.h"
#include "reasoning/shares.h"
#include "reasoning/shoulder_change.h"
#include "reasoning/uncertainty.h"
#include "reasoning/what_if.h"

namespace lintel::reasoning {

// What was seen at the bottom, mean over repetitions. All optional; without the trunk the answers
// compare the body with the reference and say nothing about habit.
struct Observation {
  std::optional<Estimate> trunk_inclination;      // [rad]
  std::optional<Estimate> shank_inclination;      // [rad]
  std::optional<Estimate> depth;                  // hip below knee [m]; replaces the setup's
  std::optional<Estimate> shoulder_change_given;  // [rad], negative = the arm gives way
  std::optional<Estimate> heel_lift;              // above its standing height [m]; for findings
};
// Errors: Invalid with field "observation.trunk_inclination" etc. and the allowed range.
Result<void> validate(const Observation& observation);

enum class Extras : std::uint8_t { All, SharesOnly };

struct ExplainOptions {
  int draws = 10000;
  std::uint64_t seed = 1;
  std::optional<AllowedSetup> allowed;  // empty: default_allowed_setup
  Extras extras = Extras::All;          // SharesOnly leaves out what-if, grip and sentences
  Samples samples = Samples::Dropped;   // Kept for findings, choice of tests and setups to film
};

// One range and how much of it the most upright posture leaves.
struct LimitState {
  posture::Limit limit = posture::Limit::AnkleDorsiflexion;
  posture::LimitSource source = posture::LimitSource::Default;
  double edge = 0.0;         // [rad, m]
  double reserve = 0.0;      // negative: beyond the measured end
  double sensitivity = 0.0;  // trunk inclination per edge [rad/rad, rad/m], 0 = does not bind
};

// A test that was not done, with what its error does to the answer.
struct MissingTest {
  body::MobilityTest test = body::MobilityTest::KneeToWall;
  posture::Limit limit = posture::Limit::AnkleDorsiflexion;
  double spread = 0.0;  // standard deviation that it brings to the parts together [rad]
};
// For people: the name of the built-in protocol ("Knee to wall, distance"). Names hold commas: a
// list of them takes semicolons.
std::string_view test_label(body::MobilityTest test);

struct ExplainResult {
  posture::BodyParameters body;
  body::Setup setup;            // today, with the observed depth
  body::Setup reference_setup;  // best setup of the reference mobility
  AllowedSetup allowed;
  posture::Outcome outcome = posture::Outcome::Solved;  // of the plain model, today
  std::array<bool, posture::kLimitCount> conflict{};  // infeasible: limits that exclude each other
  posture::Solution most_upright;  // elastic limits: always a posture; may strain, see Evaluated
  posture::Solution habitual;      // least effort
  std::optional<Estimate> observed;
  // At the athlete that tests and observation together make most likely (fitted_input); everything
  // below but outcome, conflict and grip is about this one.
  posture::BodyParameters fitted_body;
  posture::Limits fitted_limits;
  Shares shares;
  Uncertainty uncertainty;
  UncertainInput uncertain_input;    // what the draws were drawn from
  std::uint64_t seed = 1;            // of the draws
  std::vector<LimitState> limits;    // those that bind, the most telling first
  std::vector<MissingTest> missing;  // the most telling first
  int tests_done = 0;
  std::optional<WhatIfTable> what_if;
  // To draw: balanced, with the observed lean, with that of shares.most_upright, after best_change.
  std::optional<posture::Posture> seen, upright, after_best;
  std::optional<WhatIf> best_change;        // the best of single, pair and triple of the setup
  std::optional<GripAdvice> grip;           // bar overhead only
  std::optional<ShoulderChange> shoulders;  // bar overhead only
  std::vector<std::string> sentences;       // findings in words, most important first
  std::string cannot_tell;                  // no test was done; empty otherwise
  int solves = 0;                           // of the exact table
};

// Errors: Invalid (athlete, observation, allowed, draws: field and range), Cancelled.
Result<ExplainResult> explain(const body::Athlete& athlete, const Observation& observation,
                              const ExplainOptions& options, Executor& executor,
                              const WorkContext& work);

// Fills the standard errors of the table and its rows (WhatIfDraws of the same input).
Result<void> add_errors(const UncertainInput& input, std::uint64_t seed, WhatIfTable& table);

// The sentences of a result; explain() has put them there already.
std::vector<std::string> describe_findings(const ExplainResult& result,
                                           const Observation& observation);

}  // namespace lintel::reasoning
