// Numbers of JSON documents: how many digits, what a missing one is, how an error goes along.
// Inside this module; includes the JSON library.
#pragma once

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "base/units.h"
#include "formats/json_factors.h"

namespace lintel::formats {

using Json = nlohmann::ordered_json;

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
