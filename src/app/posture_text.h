// The answers of the posture model as lines for a person at a terminal. All end with the cautions.
#pragma once

#include <string>

#include "reasoning/explain.h"

namespace lintel::app {

std::string explanation_text(const reasoning::ExplainResult& result, const std::string& name);
std::string what_if_text(const reasoning::WhatIfTable& table, const std::string& name);
std::string grip_text(const reasoning::GripAdvice& advice, const body::Setup& today,
                      const std::string& name);

}  // namespace lintel::app
