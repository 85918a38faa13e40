// What an assessment.json says of the squat as a whole, read back for files to other programs.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/units.h"
#include "kinematics/measurement.h"

namespace lintel::formats {

// One completed repetition at its bottom; SI and radians, nothing where the file has null.
struct AssessedRepetition {
  int number = 0;  // 1-based, as the file counts, failed ones included
  std::array<std::optional<Estimate>, kinematics::kChannelCount> bottom;
  std::optional<Estimate> shoulder_change_given;  // [rad]
};

struct AssessmentFacts {
  std::string athlete_id;   // empty = nobody named
  std::string assessed_on;  // ISO 8601 date; empty = not in the file
  std::string recorded_on;  // ISO 8601 date or date and time; empty = not known
  std::string clip, clip_sha256;
  std::string program_version;
  std::vector<AssessedRepetition> repetitions;  // the completed ones
};

// Errors: Invalid with line, column and field when the text is not an assessment
// ("lintel-assessment-1") or a number is not one; Limit (16 MiB).
Result<AssessmentFacts> read_assessment_facts(std::string_view text, std::string_view file_name);

}  // namespace lintel::formats
