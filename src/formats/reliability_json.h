// What repeated measurements say about a test, "lintel-reliability-1".
#pragma once

#include <string>

#include "view/reliability.h"

namespace lintel::formats {

// Numbers in the unit of the measurements; what there is not is null. With the cautions. With a
// protocol, "own_error" may be copied into "standard_errors" of lintel-tests-1 and
// lintel-history-1.
std::string write_reliability_json(const view::ReliabilityReport& report);

}  // namespace lintel::formats
