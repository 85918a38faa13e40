// Numbers in words for people: degrees, centimetres or inches, each with its standard error.
#pragma once

#include <cstdint>
#include <string>

#include "base/units.h"

namespace lintel::report {

enum class UnitSystem : std::uint8_t { Metric, Imperial };

// "38° ± 2°"; one decimal where the error is below one. "not seen" when the value is NaN; without
// "±" when the error is not known.
std::string degrees_text(const Estimate& radians);
// "4.2 ± 0.8 cm" or "1.7 ± 0.3 in".
std::string length_text(const Estimate& metres, UnitSystem units);
// "20 kg" or "44 lb".
std::string mass_text(double kilograms, UnitSystem units);
// The value alone, "38°"; decimals as above.
std::string degrees_value(const Estimate& radians);
// Fixed decimals with a true minus sign and no negative zero; "–" for NaN.
std::string fixed_text(double value, int decimals);

}  // namespace lintel::report
