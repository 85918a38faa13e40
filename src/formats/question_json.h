// Questions to the posture model as a program sends them, and the figures of the answers.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/athlete.h"
#include "reasoning/what_if.h"
#include "reasoning/what_if_errors.h"
#include "view/figure.h"

namespace lintel::formats {

// {"athlete": <lintel-athlete-1>, "observed_deg": 41, "observed_error_deg": 2, "draws": 10000,
//  "seed": 1, "changes": [{"lever": "heel", "to": 1.5, "unit": "cm"}]}
struct Question {
  body::Athlete athlete;
  std::optional<double> observed;        // trunk inclination at the bottom [rad]
  std::optional<double> observed_error;  // [rad]
  int draws = 10000;
  std::uint64_t seed = 1;
  struct Change {
    reasoning::Lever lever = reasoning::Lever::Stance;
    double to = 0.0;  // SI
  };
  std::vector<Change> changes;
};
enum class ChangesInQuestion : std::uint8_t { Expected, NotAllowed };

struct QuestionReading {
  std::optional<Question> question;  // only when there is no fault
  std::vector<Error> faults;
};
// Strict; the unit of a change must be its lever's. Limits: 1 MiB. Never throws.
QuestionReading read_question_json(std::string_view text, ChangesInQuestion changes);

// The same text back, without changes; seed and draws are left to who asks.
std::string write_question_json(const Question& question);

// "cm", "deg" or "kg" of a lever, and how many of it are one SI unit.
std::string_view lever_unit(reasoning::Lever lever);
double lever_factor(reasoning::Lever lever);

// One slider: where its lever stands today and how far it goes. SI.
struct LeverRange {
  reasoning::Lever lever = reasoning::Lever::Stance;
  double now = 0.0, low = 0.0, high = 0.0;
};

struct WhatIfAnswer {
  view::Figure today, after;
  double trunk_change = 0.0;  // at equal strain, negative = more upright [rad]
  reasoning::WhatIfErrors errors;
  std::size_t draws = 0;  // from which the errors are
  std::array<posture::LimitSource, posture::kLimitCount> sources{};
  bool possible = true;
  std::vector<reasoning::Cost> costs;
  std::vector<LeverRange> levers;
  std::string words;
};
// With the cautions.
std::string write_what_if_answer_json(const WhatIfAnswer& answer);

std::string write_figure_json(const view::Figure& figure);

// {"seen": figure or null, "upright": ..., "after_best": ...}
struct FigureSet {
  std::optional<view::Figure> seen, upright, after_best;
};
std::string write_figures_json(const FigureSet& figures);

}  // namespace lintel::formats
