// Some lines for a person at a terminal.
#pragma once

#include <string>

#include "kinematics/front_view.h"
#include "view/assessment.h"

namespace lintel::app {

// Ends with the cautions.
std::string summarize(const view::Assessment& assessment,
                      const std::vector<kinematics::Warning>& warnings);

}  // namespace lintel::app
