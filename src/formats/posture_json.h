// The answers of the posture model as JSON.
#pragma once

#include <string>
#include <string_view>

#include "reasoning/explain.h"

namespace lintel::formats {

// Schemas "lintel-explanation-1", "lintel-what-if-1", "lintel-grip-1". Units in the keys (degrees,
// centimetres, kilograms); what is not known is null. Always carry the cautions. Never fail.
std::string write_explanation_json(const reasoning::ExplainResult& result,
                                   std::string_view athlete_id);
std::string write_what_if_json(const reasoning::WhatIfTable& table, std::string_view athlete_id);
std::string write_grip_json(const reasoning::GripAdvice& advice, const body::Setup& today,
                            std::string_view athlete_id);

}  // namespace lintel::formats
