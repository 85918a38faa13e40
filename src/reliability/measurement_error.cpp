#include "reliability/measurement_error.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "body/measurement_error.h"
#include "reliability/distributions.h"

namespace lintel::reliability {

view::ErrorOfMeasurement error_of_measurement(const Ratings& ratings, const view::Anova& anova) {
  const double n = anova.subjects, k = anova.raters;
  const Eigen::ArrayXXd centred = ratings.array() - anova.grand_mean;
  const Eigen::ArrayXXd in_columns = centred.rowwise() - centred.colwise().mean().eval().row(0);
  const auto icc = intraclass_correlations(anova);
  const auto of_icc = [&icc](view::IccForm form) {
    return std::sqrt(std::max(0.0, 1 - icc[static_cast<std::size_t>(form)].value));
  };
  view::ErrorOfMeasurement e;
  e.from_residual = std::sqrt(anova.residual.mean_square);
  e.agreement = std::sqrt(anova.within.mean_square);
  const double df = anova.residual.degrees_of_freedom;
  const double sum = anova.residual.sum_of_squares;
  e.from_residual_95 = {std::sqrt(sum / chi_squared_quantile(0.975, df)),
                        std::sqrt(sum / chi_squared_quantile(0.025, df))};
  e.sd_all = std::sqrt(centred.square().sum() / (n * k - 1));
  e.sd_pooled = std::sqrt(in_columns.square().sum() / (k * (n - 1)));
  e.from_icc21 = e.sd_all * of_icc(view::IccForm::TwoSingle);
  e.from_icc31 = e.sd_pooled * of_icc(view::IccForm::ThreeSingle);
  e.mdc95 = body::minimal_detectable_change(e.from_residual, e.from_residual);
  e.mdc95_exact = normal_quantile(0.975) * std::numbers::sqrt2 * e.from_residual;
  e.mdc90 = body::minimal_detectable_change(e.from_residual, e.from_residual,
                                            body::Confidence::Percent90);
  e.mdc95_agreement = body::minimal_detectable_change(e.agreement, e.agreement);
  if (anova.grand_mean > 0) e.coefficient_of_variation = e.from_residual / anova.grand_mean;
  return e;
}

}  // namespace lintel::reliability
