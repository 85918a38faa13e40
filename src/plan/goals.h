// What a plan is to reach, and how likely. Inside this module.
#pragma once

#include <vector>

#include "plan/plan.h"

namespace lintel::plan {

// The main goal (trunk inclination) where it was seen, then one for each range that is trained.
// Probabilities from draws of stream Random(seed, draw): gain of each part normal between people
// and not below 0, size of the part normal and not below 0, the part real with its probability, the
// inclination of today with its error. One draw of the gain serves all drills of a part.
std::vector<Goal> make_goals(const PlanInput& input, const Selection& selection);

}  // namespace lintel::plan
