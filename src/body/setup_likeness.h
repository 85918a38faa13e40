// Which setups of a squat may be compared with one another.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "body/athlete.h"

namespace lintel::body {

// One setting in which two setups differ by more than lets them count as the same.
struct SetupDifference {
  std::string key;              // of "setup" of lintel-athlete-1: "heel_elevation_cm", ...
  std::optional<double> value;  // in the unit of the key; nothing where there is none
  std::optional<double> own;
  std::string word, own_word;  // of the bar's position
};

// Where `setup` differs from `own`. What the hand varies without being asked is the same: heels
// 0.5 cm, stance 3 cm, toes 5 degrees, grip 5 cm, bar and discs 10 kg (the load of training grows;
// common practice, no source). The bar's place and a box to sit on always count.
std::vector<SetupDifference> setup_differences(const Setup& setup, const Setup& own);

}  // namespace lintel::body
