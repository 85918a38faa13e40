// The plan of an athlete as a file, "lintel-plan-1" (docs/schema/plan.schema.json). Angles in
// degrees, lengths in cm, times in minutes and seconds, masses in kg, steps counted from 1.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "plan/plan.h"

namespace lintel::formats {

// With the cautions; ends with a line feed. Reading it gives the same plan back, but for rounding
// to seven significant digits and the moments' components other than flexion and extension.
std::string write_plan_json(const plan::Plan& plan);

struct PlanReading {
  std::optional<plan::Plan> plan;  // only when there is no fault
  std::vector<Error> faults;       // all (at most 100), with field, line and column
};

// Strict: unknown keys and words are faults that name the nearest known one; a plan that breaks its
// own rules (plan::find_faults: a session over its minutes, a loaded drill in spite of a warning
// sign, ...) is refused. Limits: 2 MiB, 12 levels. Never throws.
PlanReading read_plan_json(std::string_view text, std::string_view file_name);

}  // namespace lintel::formats
