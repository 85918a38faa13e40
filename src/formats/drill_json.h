// Drills as files, "lintel-drill-1" (docs/schema/drill.schema.json), and the library built in.
// Angles in degrees, times in seconds and minutes, steps counted from 1.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "plan/drill.h"

namespace lintel::formats {

struct DrillReading {
  std::optional<plan::Drill> drill;  // only when there is no fault
  std::vector<Error> faults;         // all (at most 100), with field, line and column
  // Its name and drawing as far as they read, whatever is at fault elsewhere.
  std::string name;
  std::optional<Sketch> drawing;
};

// Strict: every text, source, caution and the drawing must be there; unknown keys and words are
// faults that name the nearest known one; a source is a citation with its year, or says "common
// practice, no source" or "from memory". Limits: 256 KiB, 12 levels. Never throws.
DrillReading read_drill_json(std::string_view text, std::string_view file_name);

// The file for this drill; reading it gives the same drill back (to rounding).
std::string write_drill_json(const plan::Drill& drill);
// For programs that show drills: "lintel-drill-card-1" with the drill and "lintel-drill-list-1",
// each with its state; both with the cautions.
std::string write_drill_card_json(const plan::Drill& drill);
std::string write_drill_list_json(const std::vector<plan::Drill>& drills);

// The drills of data/drills, by id. Read once, at first use; safe from any thread.
const std::vector<plan::Drill>& built_in_drills();

}  // namespace lintel::formats
