// Measuring a clip again from its kept points, with what a person corrected by hand.
#pragma once

#include "app/observe.h"
#include "base/result.h"
#include "kinematics/corrections.h"

namespace lintel::app {

// The observation with the points moved; the one given stays as it is. Errors: those of
// kinematics::with_moved_points.
Result<Observation> corrected(const Observation& kept, const kinematics::Corrections& corrections);

}  // namespace lintel::app
