// The table of numbers in athlete.json; reader, writer and list of known keys all go through it.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "body/athlete.h"

namespace lintel::formats {

enum class ErrorOfValue : std::uint8_t { Allowed, NotAllowed };
enum class Presence : std::uint8_t { Required, Optional };

struct AthleteField {
  std::string section;  // "body", "setup", "tests"
  std::string key;      // "stature_cm"
  std::string unit;     // "cm", for messages
  double si_per_unit = 1;
  std::string range_key;  // row of body::range_table()
  Presence presence = Presence::Optional;
  ErrorOfValue error_of_value = ErrorOfValue::NotAllowed;            // {"value", "standard_error"}
  std::function<void(body::Athlete&, const Estimate&)> set;          // SI
  std::function<std::optional<Estimate>(const body::Athlete&)> get;  // SI; nothing = leave out
};

const std::vector<AthleteField>& athlete_fields();

}  // namespace lintel::formats
