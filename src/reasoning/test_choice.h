// Which mobility test to do next: the one expected to tell most about what to decide, and when to
// stop.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "reasoning/explain.h"

namespace lintel::reasoning {

// The decision is which part of the lean to work on first. Its value is the size of the part that
// is named; naming the largest for sure would be worth E[max part]. From draws that are already
// there (weighted by what was seen), for a signal x_k of each draw k seen with normal error:
//   value now         max_f E[part_f]
//   value afterwards  E_y[ max_f E[part_f | y] ],  y = x + error
//   information       I(largest factor; y) in bits
// The draws are put in bins of the signal, y on a grid: the cost hardly grows with their number.
// The factor after y is chosen by one half of the draws and valued by the other, so that few draws
// do not flatter a test; what chance alone makes of the information is taken off.
struct SignalValue {
  double gain = 0.0;               // value afterwards less value now [rad], never below 0
  double information = 0.0;        // [bits], never below 0
  double probability_right = 0.0;  // expected probability of the factor that will be most probable
};
// signal: one for each sample, any unit; error: standard deviation in the same unit, > 0.
SignalValue value_of_signal(const std::vector<DrawSample>& samples,
                            const std::vector<double>& signal, double error);

struct TestOption {
  body::MobilityTest test = body::MobilityTest::KneeToWall;
  posture::Limit limit = posture::Limit::AnkleDorsiflexion;
  bool repeat = false;  // done before; again by the same hand: its own error shrinks, the error of
                        // the conversion (rotation to extension, distance to angle) does not
  double error = 0.0;   // of the limit that this result alone would give [rad]
  SignalValue value;
  std::string why;  // one sentence
};

enum class StopReason : std::uint8_t {
  NotYet,   // the first option tells test_choice.least_information or more, or repeats a test that
            // the posture seen contradicts
  Decided,  // knowing the largest part for sure would gain less than test_choice.least_at_stake
  NothingToGain,  // much is at stake, but no test tells enough: what is left open no test can close
  NoTestLeft,
};
std::string_view stop_reason_name(StopReason reason);

struct TestChoice {
  double value_now = 0.0;              // expected size of the part that would be named today [rad]
  double value_at_best = 0.0;          // if the largest were known for sure [rad]
  double probability_right_now = 0.0;  // of the most probable part
  std::vector<TestOption> options;     // the most telling first: by information, then by gain
  StopReason stop = StopReason::NotYet;
  std::string sentence;  // what to do and when to stop, for people
};

enum class Repeats : std::uint8_t { Offered, LeftOut };

struct TestChoiceInput {
  const body::Athlete& athlete;
  const ExplainResult& explained;               // with ExplainOptions::samples Kept
  std::vector<body::MobilityTest> can_be_done;  // empty = all
  Repeats repeats = Repeats::Offered;
};
// Deterministic; draws nothing itself. Errors: Invalid when the explanation holds no samples.
Result<TestChoice> choose_test(const TestChoiceInput& input);

}  // namespace lintel::reasoning
