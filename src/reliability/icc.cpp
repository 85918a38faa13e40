#include "reliability/icc.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/text.h"
#include "reliability/distributions.h"

namespace lintel::reliability {
namespace {

using view::Anova;
using view::AnovaRow;
using view::Bounds;
using view::Icc;
using view::IccForm;

constexpr double kUpper = 0.975;  // of the 95 % intervals

tl::unexpected<Error> unusable(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<void> check_cells(const Ratings& ratings) {
  if (ratings.rows() < 2) {
    return unusable("subjects",
                    text(ratings.rows() == 1 ? "there is %d subject" : "there are %d subjects",
                         static_cast<int>(ratings.rows())),
                    "measure at least two people; ten or more give a useful answer");
  }
  if (ratings.cols() < 2) {
    return unusable("raters", "there is only one column of ratings",
                    "measure every subject at least twice: by two raters, or in two tries");
  }
  for (Eigen::Index i = 0; i < ratings.rows(); ++i) {
    for (Eigen::Index j = 0; j < ratings.cols(); ++j) {
      if (std::isfinite(ratings(i, j))) continue;
      return unusable(text("row %d, column %d", static_cast<int>(i + 1), static_cast<int>(j + 1)),
                      "the rating is missing or is not a number",
                      "every subject needs a rating in every column; leave out the subject");
    }
  }
  return {};
}

AnovaRow row_of(double df, double sum_of_squares, double rounding) {
  if (sum_of_squares <= rounding) sum_of_squares = 0.0;
  return {df, sum_of_squares, sum_of_squares / df};
}

enum class Of : std::uint8_t { OneRating, Mean };

// Forms one and three: the same formulas over the within and the residual mean square.
Icc form_of(const Anova& a, const AnovaRow& error, double f, Of of) {
  const double k = a.raters;
  const double ms_b = a.between_subjects.mean_square, ms_e = error.mean_square;
  Icc icc;
  icc.f = f;
  icc.df1 = a.between_subjects.degrees_of_freedom;
  icc.df2 = error.degrees_of_freedom;
  icc.p = f_upper_tail(f, icc.df1, icc.df2);
  const double low = f / f_quantile(kUpper, icc.df1, icc.df2);
  const double high = f * f_quantile(kUpper, icc.df2, icc.df1);
  const auto single = [k](double x) { return std::isinf(x) ? 1.0 : (x - 1) / (x + k - 1); };
  if (of == Of::Mean) {
    icc.value = (ms_b - ms_e) / ms_b;
    icc.interval95 = {1 - 1 / low, 1 - 1 / high};
  } else {
    icc.value = (ms_b - ms_e) / (ms_b + (k - 1) * ms_e);
    icc.interval95 = {single(low), single(high)};
  }
  return icc;
}

// Degrees of freedom of the interval of form two (Shrout and Fleiss 1979, after Satterthwaite). All
// mean squares are divided by the larger of those of raters and residual, so that a residual of 0
// needs no case of its own.
double satterthwaite(const Anova& a, double icc) {
  const double n = a.subjects, k = a.raters;
  const double scale = std::max(a.between_raters.mean_square, a.residual.mean_square);
  if (scale == 0.0) return k - 1;
  const double raters = k * icc * a.between_raters.mean_square / scale;
  const double residual = (n * (1 + (k - 1) * icc) - k * icc) * a.residual.mean_square / scale;
  const double sum = raters + residual;
  return (k - 1) * (n - 1) * sum * sum / ((n - 1) * raters * raters + residual * residual);
}

Icc form_two(const Anova& a, double f) {
  const double n = a.subjects, k = a.raters;
  const double ms_b = a.between_subjects.mean_square, ms_e = a.residual.mean_square;
  const double ms_j = a.between_raters.mean_square;
  Icc icc;
  icc.f = f;
  icc.df1 = n - 1;
  icc.df2 = (n - 1) * (k - 1);
  icc.p = f_upper_tail(f, icc.df1, icc.df2);
  icc.value = (ms_b - ms_e) / (ms_b + (k - 1) * ms_e + k * (ms_j - ms_e) / n);
  const double v = satterthwaite(a, icc.value);
  const double f_low = f_quantile(kUpper, n - 1, v);
  const double f_high = f_quantile(kUpper, v, n - 1);
  const double error = k * ms_j + (k * n - k - n) * ms_e;
  icc.interval95.lower = n * (ms_b - f_low * ms_e) / (f_low * error + n * ms_b);
  icc.interval95.upper = n * (f_high * ms_b - ms_e) / (error + n * f_high * ms_b);
  // Hardly any degrees of freedom are left where the raters' variance cancels the residual one: the
  // interval then says nothing.
  if (!std::isfinite(icc.interval95.lower)) icc.interval95.lower = -1 / (k - 1);
  if (!std::isfinite(icc.interval95.upper)) icc.interval95.upper = 1;
  return icc;
}

// The mean of k raters from one rater (Spearman and Brown), ends of the interval alike.
Icc stepped_up(const Anova& a, Icc icc) {
  const double n = a.subjects, k = a.raters;
  const double ms_b = a.between_subjects.mean_square, ms_e = a.residual.mean_square;
  const auto up = [k](double x) { return x * k / (1 + x * (k - 1)); };
  icc.value = (ms_b - ms_e) / (ms_b + (a.between_raters.mean_square - ms_e) / n);
  icc.interval95 = {up(icc.interval95.lower), up(icc.interval95.upper)};
  return icc;
}

double ratio(double above, double below) {
  return below > 0 ? above / below : std::numeric_limits<double>::infinity();
}

}  // namespace

Result<Anova> analyse_variance(const Ratings& ratings) {
  LINTEL_TRY_VOID(check_cells(ratings));
  Anova a;
  a.subjects = static_cast<int>(ratings.rows());
  a.raters = static_cast<int>(ratings.cols());
  const double n = a.subjects, k = a.raters;
  a.grand_mean = ratings.mean();
  // Differences from the grand mean, so that large numbers with small differences lose nothing.
  const Eigen::ArrayXXd centred = ratings.array() - a.grand_mean;
  const Eigen::ArrayXd of_subjects = centred.rowwise().mean();
  const Eigen::ArrayXd of_raters = centred.colwise().mean().transpose();
  const Eigen::ArrayXXd residual =
      (centred.colwise() - of_subjects).rowwise() - of_raters.transpose() + centred.mean();
  const double between = k * (of_subjects - centred.mean()).square().sum();
  const double raters = n * (of_raters - centred.mean()).square().sum();
  // What rounding of the numbers themselves may leave behind counts as nothing.
  const double largest = ratings.cwiseAbs().maxCoeff();
  const double rounding = n * k * std::pow(1e-13 * largest, 2);
  if (!std::isfinite(between + raters + residual.square().sum())) {
    return unusable("ratings", "the numbers are too large", "use another unit");
  }
  if (centred.square().sum() <= rounding) {
    return unusable("ratings", "all ratings are equal, so that nothing can be told apart",
                    "measure people who differ, with a finer scale");
  }
  if (between <= rounding) {
    return unusable("ratings", "the subjects do not differ: all have the same mean",
                    "reliability compares people with one another; measure people who differ");
  }
  a.between_subjects = row_of(n - 1, between, 0.0);
  a.between_raters = row_of(k - 1, raters, rounding);
  a.residual = row_of((n - 1) * (k - 1), residual.square().sum(), rounding);
  a.within =
      row_of(n * (k - 1), a.between_raters.sum_of_squares + a.residual.sum_of_squares, rounding);
  return a;
}

std::array<Icc, view::kIccFormCount> intraclass_correlations(const Anova& anova) {
  const double ms_b = anova.between_subjects.mean_square;
  const double f_within = ratio(ms_b, anova.within.mean_square);
  const double f_residual = ratio(ms_b, anova.residual.mean_square);
  std::array<Icc, view::kIccFormCount> out;
  const auto at = [&out](IccForm form) -> Icc& { return out[static_cast<std::size_t>(form)]; };
  at(IccForm::OneSingle) = form_of(anova, anova.within, f_within, Of::OneRating);
  at(IccForm::TwoSingle) = form_two(anova, f_residual);
  at(IccForm::ThreeSingle) = form_of(anova, anova.residual, f_residual, Of::OneRating);
  at(IccForm::OneMean) = form_of(anova, anova.within, f_within, Of::Mean);
  at(IccForm::TwoMean) = stepped_up(anova, at(IccForm::TwoSingle));
  at(IccForm::ThreeMean) = form_of(anova, anova.residual, f_residual, Of::Mean);
  return out;
}

}  // namespace lintel::reliability
