// assessment.json: everything one assessment found, for other programs and for the file.
#pragma once

#include <string>

#include "view/assessment.h"

namespace lintel::formats {

// Schema "lintel-assessment-1" (docs/schema/assessment.schema.json). Measured numbers are objects
// {"value", "standard_error"} with the unit in the key (degrees, centimetres); what is not known
// is null. Always carries the cautions. Never fails: broken UTF-8 is replaced.
std::string write_assessment_json(const view::Assessment& assessment);

}  // namespace lintel::formats
