// Standard error of measurement and smallest detectable change of a table of ratings.
#pragma once

#include "reliability/icc.h"

namespace lintel::reliability {

// Every definition in use (Weir JP, J Strength Cond Res 2005;19(1):231-240), from ratings that
// analyse_variance() took. When the raters agree perfectly all errors are 0.
view::ErrorOfMeasurement error_of_measurement(const Ratings& ratings, const view::Anova& anova);

}  // namespace lintel::reliability
