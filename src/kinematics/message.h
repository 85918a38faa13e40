// Numbers in sentences for people, without the locale and without the standard streams.
#pragma once

#include <cmath>
#include <string>

#include "base/units.h"

namespace lintel::kinematics {

// Whole number, "unknown" if there is none.
inline std::string rounded(double value) {
  return std::isfinite(value) ? std::to_string(std::lround(value)) : "unknown";
}
// An angle [rad] in whole degrees.
inline std::string degrees(double angle) {
  return rounded(angle * kDegreesPerRadian);
}
// "12 degrees (standard error 2)".
inline std::string degrees_with_error(const Estimate& angle) {
  return degrees(angle.value) + " degrees (standard error " + degrees(angle.standard_error) + ")";
}
inline std::string percent(double share) {
  return rounded(100.0 * share) + " %";
}

}  // namespace lintel::kinematics
