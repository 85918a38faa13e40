// What was seen of a squat: from the assessment of a clip, or an angle that somebody typed.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/units.h"
#include "formats/assessment_reader.h"
#include "reasoning/finding.h"

namespace lintel::app {

struct SeenSource {
  std::optional<std::filesystem::path> assessment;  // assessment.json of a clip of this athlete
  std::optional<Angle> trunk_inclination;           // measured otherwise, at the bottom
  std::optional<Angle> trunk_error;                 // its standard error; empty = 3 degrees
};

struct SeenSquat {
  reasoning::Observation observation;                  // means over completed repetitions
  std::vector<reasoning::SeenRepetition> repetitions;  // of an assessment
  std::string assessment;                              // its file name; empty = none
  std::optional<formats::StoredAssessment> stored;     // all that the file holds of it
};

// Nothing given: an empty one. Errors: Invalid when both an assessment and an angle are given, or
// the assessment holds no completed repetition; those of the file.
Result<SeenSquat> read_seen_squat(const SeenSource& source);

// The same from the text of an assessment in hand; `name` stands in errors and evidence.
Result<SeenSquat> seen_in_assessment(std::string_view json, std::string name);

}  // namespace lintel::app
