// Numbers of JSON documents: how many digits, what a missing one is, how an error goes along.
// Inside this module; includes the JSON library.
#pragma once

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "base/units.h"

namespace lintel::formats {

using Json = nlohmann::ordered_json;

inline constexpr double kDegrees = kDegreesPerRadian;  // from SI to what stands in the document
inline constexpr double kCentimetres = 100.0;

// Seven significant digits; more would only pretend. Null when there is no number.
inline Json number(double value) {
  if (!std::isfinite(value)) return nullptr;
  char buffer[40];
  std::snprintf(buffer, sizeof buffer, "%.7g", value);
  return std::strtod(buffer, nullptr);
}

inline Json estimate(const Estimate& e, double factor) {
  return {{"value", number(e.value * factor)},
          {"standard_error", number(e.standard_error * std::abs(factor))}};
}

}  // namespace lintel::formats
