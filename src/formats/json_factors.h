// From SI to what stands in a document.
#pragma once

#include "base/units.h"

namespace lintel::formats {

inline constexpr double kDegrees = kDegreesPerRadian;
inline constexpr double kCentimetres = 100.0;

}  // namespace lintel::formats
