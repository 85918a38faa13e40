// Closed forms behind the planner's objective. Inside this module; planner.h has the public part.
#pragma once

#include "base/units.h"

namespace lintel::plan {

// d/dgain of expected_reduction: probability * P(Y > gain).
double expected_reduction_slope(double gain, const Estimate& size, double probability);

// Several drills for one part: in full up to what the best of them gives, then less and less:
// x <= full: x; beyond: full + further (1 - exp(-(x - full) / further)). Concave, slope 1 at full.
double saturated_gain(double gain, double full, double further);
double saturated_gain_slope(double gain, double full, double further);

// Weeks of training that count: deload weeks count data/plan/rules.csv deload.share, weeks beyond
// `most` not at all. most may be a fraction of weeks.
double counted_weeks(int weeks, double most);

}  // namespace lintel::plan
