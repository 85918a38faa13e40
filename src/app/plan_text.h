// A plan as lines for a person at a terminal, with the cautions.
#pragma once

#include <string>

#include "plan/plan.h"

namespace lintel::app {

std::string plan_to_text(const plan::Plan& plan);

}  // namespace lintel::app
