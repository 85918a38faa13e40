// Analysis of variance of a table of ratings, and the six intraclass correlations of it.
#pragma once

#include <Eigen/Core>
#include <array>

#include "base/result.h"
#include "view/reliability.h"

namespace lintel::reliability {

// Subjects in rows (n >= 2), raters or tries in columns (k >= 2).
using Ratings = Eigen::Ref<const Eigen::MatrixXd>;

// Two-way analysis of variance without repetition. Errors, all Invalid with what to do: one
// subject, one rater, a cell that is missing or not finite (with row and column, 1-based), all
// ratings equal, subjects that do not differ at all.
Result<view::Anova> analyse_variance(const Ratings& ratings);

// The six forms with F tests against 0 and 95 % intervals (Shrout PE, Fleiss JL 1979; the interval
// of form two with the degrees of freedom printed there). `anova` as analyse_variance() gives it.
// With F below 1 the subjects differ less than the error does: the estimates then go below 0, those
// of form two to any number; they count as 0.
std::array<view::Icc, view::kIccFormCount> intraclass_correlations(const view::Anova& anova);

}  // namespace lintel::reliability
