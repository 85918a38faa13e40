#include "reliability/tester_error.h"

#include <cmath>

#include "base/text.h"
#include "body/measurement_error.h"
#include "reliability/distributions.h"

namespace lintel::reliability {
namespace {

tl::unexpected<Error> unusable(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

// Equal-tailed 95 % interval of a standard deviation whose df * sd^2 / variance is chi-square.
view::Bounds bounds_of(double sd, double df) {
  return {sd * std::sqrt(df / chi_squared_quantile(0.975, df)),
          sd * std::sqrt(df / chi_squared_quantile(0.025, df))};
}

}  // namespace

Result<OwnRepeats> pool_repeats(const std::vector<std::vector<double>>& groups) {
  double sum = 0.0, df = 0.0;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    double mean = 0.0;
    for (std::size_t i = 0; i < groups[g].size(); ++i) {
      if (!std::isfinite(groups[g][i])) {
        return unusable(text("group %zu, repeat %zu", g + 1, i + 1), "is not a number",
                        "leave it out");
      }
      mean += groups[g][i] / static_cast<double>(groups[g].size());
    }
    if (groups[g].size() < 2) continue;
    for (const double value : groups[g]) sum += (value - mean) * (value - mean);
    df += static_cast<double>(groups[g].size() - 1);
  }
  if (df == 0.0) {
    return unusable("repeats", "nobody was measured twice",
                    "measure the same person at least twice with nothing changed in between");
  }
  return OwnRepeats{std::sqrt(sum / df), df};
}

Result<view::TesterError> update_error(double published, double published_df,
                                       const OwnRepeats& own) {
  if (!(published > 0) || !std::isfinite(published)) {
    return unusable("published", text("the published standard error is %g", published),
                    "give a number above 0 in the unit of the measurements");
  }
  if (!(published_df > 0) || !std::isfinite(published_df)) {
    return unusable("published_df", text("the degrees of freedom are %g", published_df),
                    "give a number above 0; 10 where nothing is known");
  }
  if (!(own.degrees_of_freedom > 0) || !(own.standard_deviation >= 0) ||
      !std::isfinite(own.degrees_of_freedom + own.standard_deviation)) {
    return unusable("own", "there are no own repeats",
                    "measure the same person at least twice with nothing changed in between");
  }
  view::TesterError e;
  e.published = published;
  e.published_df = published_df;
  e.own = own.standard_deviation;
  e.own_df = own.degrees_of_freedom;
  e.own_95 = bounds_of(e.own, e.own_df);
  e.updated_df = published_df + e.own_df;
  e.updated =
      std::sqrt((published_df * published * published + e.own_df * e.own * e.own) / e.updated_df);
  e.updated_95 = bounds_of(e.updated, e.updated_df);
  e.mdc95 = body::minimal_detectable_change(e.updated, e.updated);
  e.own_share = e.own_df / e.updated_df;
  // variance > published^2  <=>  df * updated^2 / variance below df * updated^2 / published^2
  const double x = e.updated_df * std::pow(e.updated / published, 2);
  e.probability_worse = 1.0 - chi_squared_upper_tail(x, e.updated_df);
  return e;
}

}  // namespace lintel::reliability
