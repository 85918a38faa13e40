// The curves of one measurement for programs that draw them.
#pragma once

#include <string>

#include "kinematics/measurement.h"

namespace lintel::formats {

// {"schema": "lintel-curves-1", "time_s": [...], "frame": [...], "channels": {"trunk_inclination":
// {"label", "unit": "deg", "raw": [...], "filtered", "fitted", "error", "rate"}}, "figures":
// {"points": ["toe", ...], "px": [[x, y, x, y, ...], ...]}}. One value a frame, null where there is
// none; seven digits. Channels without any value are left out.
std::string write_curves_json(const kinematics::Measurement& measurement);

}  // namespace lintel::formats
