// Inside app: the report of repeated measurements as lines for a person.
#pragma once

#include <string>

#include "view/reliability.h"

namespace lintel::app {

std::string reliability_text(const view::ReliabilityReport& report);

}  // namespace lintel::app
