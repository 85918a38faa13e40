// How good this tester is: a published standard error brought up to date by own repeats.
#pragma once

#include <vector>

#include "base/result.h"
#include "view/reliability.h"

namespace lintel::reliability {

// Standard deviation within subjects, pooled, with its degrees of freedom.
struct OwnRepeats {
  double standard_deviation = 0.0;
  double degrees_of_freedom = 0.0;
};

// From repeats of the same person with nothing changed in between: one group each, of any size.
// Groups of one repeat say nothing and are passed over. Errors: Invalid when no group has two
// repeats, or for a value that is not finite (with group and repeat).
Result<OwnRepeats> pool_repeats(const std::vector<std::vector<double>>& groups);

// How many degrees of freedom a published error is given when nobody says: about what a published
// study of twenty people carries, halved because other testers differ from those studied. Lintel's
// own choice, no source.
inline constexpr double kPublishedDegreesOfFreedom = 10.0;

// Conjugate update of a normal variance (Gelman et al., Bayesian Data Analysis, section 2.6): prior
// variance ~ scaled inverse chi-square(published_df, published^2), data sd^2 with its degrees of
// freedom; updated^2 = (published_df published^2 + df sd^2) / (published_df + df).
// Errors: Invalid for a published error that is not above 0 or degrees of freedom that are not.
Result<view::TesterError> update_error(double published, double published_df,
                                       const OwnRepeats& own);

}  // namespace lintel::reliability
