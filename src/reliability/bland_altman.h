// Agreement of two measurements of the same subjects, as Bland and Altman have it.
#pragma once

#include <span>

#include "base/result.h"
#include "view/reliability.h"

namespace lintel::reliability {

// first[i] and second[i] belong to one subject. Bias, limits of agreement with their errors
// (Bland JM, Altman DG, Lancet 1986;327:307-310 and Stat Methods Med Res 1999;8:135-160), exact
// intervals of the limits by the noncentral t distribution, proportional bias, paired t test.
// Errors: Invalid for fewer than two pairs, columns of different length, a value that is not finite
// (with its row), differences that are all equal.
Result<view::Agreement> agreement_of(std::span<const double> first, std::span<const double> second);

}  // namespace lintel::reliability
