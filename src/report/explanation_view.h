// The explanation block that pages draw; the data itself lives in view/, which files write as well.
#pragma once

#include "view/explanation.h"

namespace lintel::report {
using view::Explanation;
using view::ExplanationPart;
using view::NextStep;
}  // namespace lintel::report
