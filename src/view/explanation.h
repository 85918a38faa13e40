// What explains the lean, as plain data for pages and files. Filled from posture/ and reasoning/.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/units.h"

namespace lintel::view {

// One factor's part of the difference between the observed and the reference trunk inclination.
struct ExplanationPart {
  std::string factor;              // stable code: "ankle", "habit", ...
  std::string label;               // for people: "ankle range"
  double share = 0;                // [rad], may be negative; parts sum to the whole
  double low = 0;                  // [rad] ends of the 95 % interval
  double high = 0;                 // [rad]
  double probability_largest = 0;  // 0..1, that this part is the largest of all
};

// One thing to try, the most useful first.
struct NextStep {
  std::string title;                  // "Heels up by 1.5 cm"
  std::string detail;                 // one or two sentences: why, how, when to stop; may be empty
  std::optional<Estimate> less_lean;  // [rad] how much more upright the model expects
};

struct Explanation {
  std::optional<Estimate> observed_inclination;  // trunk at the bottom [rad]
  std::optional<Estimate> most_upright;    // trunk, the most upright that the body allows [rad]
  std::vector<ExplanationPart> parts;      // empty when the tests do not suffice
  std::string cannot_tell;                 // why there are no parts; empty when there are
  std::vector<std::string> missing_tests;  // tests that would let it tell, for people
  std::vector<std::string> sentences;      // the findings in words, most important first
  std::vector<NextStep> next_steps;
};

}  // namespace lintel::view
