#include "reliability/bland_altman.h"

#include <Eigen/Core>
#include <cmath>
#include <numbers>

#include "base/text.h"
#include "reliability/distributions.h"

namespace lintel::reliability {
namespace {

using view::Agreement;
using view::Bounds;

tl::unexpected<Error> unusable(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<void> check_pairs(std::span<const double> first, std::span<const double> second) {
  if (first.size() != second.size()) {
    return unusable("pairs", "the two columns differ in length",
                    "every subject needs both measurements; leave out the subject");
  }
  if (first.size() < 2) {
    return unusable("pairs", "there are fewer than two pairs",
                    "measure more people; twenty or more give useful limits");
  }
  for (std::size_t i = 0; i < first.size(); ++i) {
    if (std::isfinite(first[i]) && std::isfinite(second[i])) continue;
    return unusable(text("row %d", static_cast<int>(i + 1)),
                    "a measurement is missing or is not a number",
                    "every subject needs both measurements; leave out the subject");
  }
  return {};
}

void add_limits(Agreement& a) {
  const double n = a.pairs, sd = a.sd_difference, df = n - 1;
  const double z = normal_quantile(0.975);
  a.limits = {a.mean_difference - z * sd, a.mean_difference + z * sd};
  a.limits_1_96 = {a.mean_difference - 1.96 * sd, a.mean_difference + 1.96 * sd};
  a.se_limit_approx = std::sqrt(3 / n) * sd;
  a.se_limit = sd * std::sqrt(1 / n + z * z / (2 * df));
  const double t = t_quantile(0.975, df) * a.se_limit;
  a.lower_limit_95 = {a.limits.lower - t, a.limits.lower + t};
  a.upper_limit_95 = {a.limits.upper - t, a.limits.upper + t};
  // The estimated limit over SD / sqrt(n) follows a noncentral t distribution about z sqrt(n).
  const double root = std::sqrt(n);
  const double near = sd * noncentral_t_quantile(0.025, df, z * root) / root;
  const double far = sd * noncentral_t_quantile(0.975, df, z * root) / root;
  a.lower_limit_95_exact = {a.mean_difference - far, a.mean_difference - near};
  a.upper_limit_95_exact = {a.mean_difference + near, a.mean_difference + far};
}

void add_regression(Agreement& a, const Eigen::ArrayXd& difference, const Eigen::ArrayXd& mean) {
  if (a.pairs < 3) return;
  const Eigen::ArrayXd x = mean - mean.mean();
  const Eigen::ArrayXd y = difference - difference.mean();
  const double scale = mean.abs().maxCoeff();
  const double xx = x.square().sum();
  if (xx <= a.pairs * std::pow(1e-13 * scale, 2)) return;
  const double slope = (x * y).sum() / xx;
  const double rest = (y - slope * x).square().sum();
  a.proportional_bias = slope;
  const double df = a.pairs - 2;
  const double error = std::sqrt(rest / df / xx);
  a.proportional_bias_p = error > 0 ? t_two_sided_p(slope / error, df) : 0.0;
}

std::optional<double> correlation_of(const Eigen::ArrayXd& first, const Eigen::ArrayXd& second) {
  const Eigen::ArrayXd x = first - first.mean(), y = second - second.mean();
  const double below = std::sqrt(x.square().sum() * y.square().sum());
  if (!(below > 0)) return std::nullopt;
  return (x * y).sum() / below;
}

}  // namespace

Result<Agreement> agreement_of(std::span<const double> first, std::span<const double> second) {
  LINTEL_TRY_VOID(check_pairs(first, second));
  const auto size = static_cast<Eigen::Index>(first.size());
  const Eigen::ArrayXd a1 = Eigen::Map<const Eigen::ArrayXd>(first.data(), size);
  const Eigen::ArrayXd a2 = Eigen::Map<const Eigen::ArrayXd>(second.data(), size);
  const Eigen::ArrayXd difference = a2 - a1;
  Agreement a;
  a.pairs = static_cast<int>(size);
  const double n = a.pairs;
  a.mean_difference = difference.mean();
  a.sd_difference = std::sqrt((difference - a.mean_difference).square().sum() / (n - 1));
  const double scale = std::max(a1.abs().maxCoeff(), a2.abs().maxCoeff());
  if (!(a.sd_difference > 1e-13 * scale) || !std::isfinite(a.sd_difference)) {
    return unusable("pairs", "all differences are equal, so that there are no limits to give",
                    "check that the two columns are two measurements and not one copied");
  }
  a.se_mean_difference = a.sd_difference / std::sqrt(n);
  const double t = t_quantile(0.975, n - 1) * a.se_mean_difference;
  a.mean_difference_95 = {a.mean_difference - t, a.mean_difference + t};
  add_limits(a);
  a.sem_from_differences = a.sd_difference / std::numbers::sqrt2;
  a.t = a.mean_difference / a.se_mean_difference;
  a.t_p = t_two_sided_p(a.t, n - 1);
  add_regression(a, difference, (a1 + a2) / 2);
  a.correlation = correlation_of(a1, a2);
  return a;
}

}  // namespace lintel::reliability
