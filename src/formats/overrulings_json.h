// What the practitioner decided about findings, "lintel-overrulings-1"
// (docs/schema/overrulings.schema.json).
//
// {"schema": "lintel-overrulings-1", "athlete": "a1",
//  "overrulings": [{"finding": "ankle", "verdict": "rejected", "reason": "...", "who": "...",
//                   "date": "2026-11-25"},
//                  {"finding": "habit", "verdict": "asserted", "size_deg": 6, "reason": "...",
//                  ...}]}
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "reasoning/finding.h"

namespace lintel::formats {

struct OverrulingsFile {
  std::string athlete_id;
  std::vector<reasoning::Overruling> overrulings;
};

struct OverrulingsReading {
  std::optional<OverrulingsFile> file;  // only when there is no fault
  std::vector<Error> faults;            // all (at most 100), with field, line and column
};

// Strict: unknown keys, findings and verdicts name the nearest known one; a reason, a name and a
// date must be there; a size (0 to 90 deg) only with "asserted". Limits: 1 MiB, 500 entries. Never
// throws.
OverrulingsReading read_overrulings_json(std::string_view text, std::string_view file_name);

// Reading it gives the same back, but for rounding to seven digits.
std::string write_overrulings_json(const OverrulingsFile& file);

}  // namespace lintel::formats
