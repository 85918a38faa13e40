// The answers of the posture model as JSON, and what they need back from assessment.json.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "reasoning/explain.h"

namespace lintel::formats {

// Schemas "lintel-explanation-1", "lintel-what-if-1", "lintel-grip-1". Units in the keys (degrees,
// centimetres, kilograms); what is not known is null. Always carry the cautions. Never fail.
std::string write_explanation_json(const reasoning::ExplainResult& result,
                                   std::string_view athlete_id);
std::string write_what_if_json(const reasoning::WhatIfTable& table, std::string_view athlete_id);
std::string write_grip_json(const reasoning::GripAdvice& advice, const body::Setup& today,
                            std::string_view athlete_id);

// What the completed repetitions of an assessment showed at the bottom; SI and radians, NaN where
// the file has null.
struct BottomReading {
  Estimate trunk_inclination, shank_inclination, depth, shoulder_change_given;
};
// Errors: Invalid with line, column and field when the text is not an assessment
// ("lintel-assessment-1") or a number is not one; Limit.
Result<std::vector<BottomReading>> read_assessment_bottoms(std::string_view text,
                                                           std::string_view file_name);

}  // namespace lintel::formats
