#include "report/numbers.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

namespace lintel::report {
namespace {

int decimals_for(double standard_error) {
  return std::isfinite(standard_error) && standard_error < 0.95 ? 1 : 0;
}

std::string with_error(double value, double error, const char* value_unit, const char* end_unit) {
  if (!std::isfinite(value)) return "not seen";
  const int decimals = decimals_for(error);
  std::string text = fixed_text(value, decimals) + value_unit;
  if (std::isfinite(error)) text += " ± " + fixed_text(error, decimals) + value_unit;
  return text + end_unit;
}

}  // namespace

std::string fixed_text(double value, int decimals) {
  if (!std::isfinite(value)) return "–";
  std::array<char, 64> buffer{};
  const double magnitude = std::min(std::abs(value), 1e9);
  std::snprintf(buffer.data(), buffer.size(), "%.*f", decimals, magnitude);
  std::string text = buffer.data();
  const bool is_zero = text.find_first_not_of("0.") == std::string::npos;
  return value < 0 && !is_zero ? "−" + text : text;
}

std::string degrees_text(const Estimate& radians) {
  return with_error(radians.value * kDegreesPerRadian, radians.standard_error * kDegreesPerRadian,
                    "°", "");
}

std::string degrees_value(const Estimate& radians) {
  if (!std::isfinite(radians.value)) return "–";
  return fixed_text(radians.value * kDegreesPerRadian,
                    decimals_for(radians.standard_error * kDegreesPerRadian)) +
         "°";
}

std::string length_text(const Estimate& metres, UnitSystem units) {
  const bool metric = units == UnitSystem::Metric;
  const double factor = metric ? 100.0 : 1.0 / kMetresPerInch;
  if (!std::isfinite(metres.value)) return "not seen";
  return with_error(metres.value * factor, metres.standard_error * factor, "",
                    metric ? " cm" : " in");
}

std::string mass_text(double kilograms, UnitSystem units) {
  if (!std::isfinite(kilograms)) return "not known";
  const double value = units == UnitSystem::Metric ? kilograms : kilograms / kKilogramsPerPound;
  const bool whole = std::abs(value - std::round(value)) < 0.05;
  return fixed_text(value, whole ? 0 : 1) + (units == UnitSystem::Metric ? " kg" : " lb");
}

}  // namespace lintel::report
