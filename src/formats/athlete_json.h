// athlete.json: one athlete as a person writes it down, in degrees and centimetres.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/athlete.h"
#include "formats/located_json.h"

namespace lintel::formats {

struct AthleteReading {
  std::optional<body::Athlete> athlete;  // only when there is no fault
  std::vector<Error> faults;             // all of them (at most 100), in file order where known
};

// Reads schema "lintel-athlete-1" (docs/schema/athlete.schema.json). Strict: unknown keys are
// faults that name the nearest known key; numbers must lie in the allowed ranges of body/. Each
// fault has the field's path, line and column. Limits: 1 MiB, 8 levels. Never throws.
AthleteReading read_athlete_json(std::string_view text, std::string_view file_name);

// The same for an athlete inside of another document: faults with the athlete's own field paths.
body::Athlete read_athlete_value(const JsonValue& value, FaultList& faults);

// The file for this athlete, ending with a line feed. Reading it gives the same athlete back, but
// for rounding to ten significant digits.
std::string write_athlete_json(const body::Athlete& athlete);

}  // namespace lintel::formats
