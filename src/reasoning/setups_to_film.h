// The two or three setups worth filming now: setup is tried before mobility.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reasoning/finding.h"
#include "reasoning/test_choice.h"

namespace lintel::reasoning {

// One setup to film, in steps that a gym has (a plate under the heels, a hand's breadth of grip).
struct SetupToFilm {
  std::vector<Change> changes;    // one or two levers, rounded (defaults.csv: film.*)
  Size change;                    // predicted change of the lean, negative = more upright [rad]
  SignalValue value;              // of what the film would show
  double score = 0.0;             // expected gain of lean plus SignalValue::gain [rad]
  bool within_allowed = true;     // false: to find out, not to keep (heels on a higher plate)
  std::vector<Cost> costs;        // if it were kept
  std::optional<Factor> against;  // the two hypotheses that the film tells apart best ...
  std::optional<Factor> other;
  double change_if_against = 0.0;  // ... and the change predicted under each [rad]
  double change_if_other = 0.0;
  std::string how;    // "Heels up to 2.5 cm (a plate under the heels)"
  std::string why;    // what it buys
  std::string shows;  // what it would show
};

// At most `film.most` (3), no two with the same levers: single changes, the most useful first, then
// the best two together where they promise more than either. The predicted change of a draw is that
// of its most upright posture at equal strain; what is seen beyond it (habit) is taken to stay. Two
// clips of one camera position differ by film.error. Empty when nothing is worth filming, or when
// tests and posture contradict each other: then a test comes first. Deterministic; about 0.2 s.
// Errors: Invalid when the explanation holds no samples; those of the model.
Result<std::vector<SetupToFilm>> find_setups_to_film(const ExplainResult& explained);

}  // namespace lintel::reasoning
