// One visit of an athlete, "lintel-visit-1" (docs/schema/visit.schema.json): the day, what for,
// notes. Tests, clips, decisions and plans are records of their own below it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"

namespace lintel::formats {

// The trunk at the lowest point where there is no clip: seen, or measured by hand.
struct TypedTrunk {
  double inclination = 0;     // [rad] from the vertical, forward is positive
  double standard_error = 0;  // [rad]
  std::string method;         // "eye", "still", "inclinometer", "goniometer"
};

struct VisitDocument {
  Date date;
  std::string purpose;  // "first visit", "re-test", ...; may be empty
  std::string notes;
  std::optional<TypedTrunk> trunk;
};
struct VisitReading {
  std::optional<VisitDocument> visit;  // only when there is no fault
  std::vector<Error> faults;           // all, with field, line and column
};
// Strict. Limits: 64 KiB. Never throws.
VisitReading read_visit_json(std::string_view text, std::string_view file_name);
std::string write_visit_json(const VisitDocument& visit);

}  // namespace lintel::formats
