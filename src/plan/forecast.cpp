#include "plan/forecast.h"

#include <Eigen/Cholesky>
#include <Eigen/Core>
#include <algorithm>
#include <array>
#include <cmath>

#include "base/normal.h"
#include "base/text.h"

namespace lintel::plan {
namespace {

double basis(double weeks, double levelling_weeks) {
  if (!(levelling_weeks > 0)) return weeks;
  return -levelling_weeks * std::expm1(-weeks / levelling_weeks);
}

tl::unexpected<Error> invalid(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<void> validate(const GainModel& model, const std::vector<Observed>& observed) {
  if (!std::isfinite(model.prior.value) || !(model.prior.standard_error > 0) ||
      !std::isfinite(model.prior.standard_error) || !(model.levelling_weeks >= 0) ||
      !std::isfinite(model.levelling_weeks)) {
    return invalid("prior", "the expected gain a week has no spread, or is not a number",
                   "give mean and spread between people, the spread above 0");
  }
  if (observed.empty()) {
    return invalid("observed", "there is no test", "test once before the work begins");
  }
  for (std::size_t i = 0; i < observed.size(); ++i) {
    const Estimate& value = observed[i].value;
    if (std::isfinite(value.value) && std::isfinite(value.standard_error) &&
        value.standard_error > 0) {
      continue;
    }
    return invalid(text("observed[%zu]", i), "has no standard error, or is not a number",
                   "every test needs a standard error above 0");
  }
  return {};
}

}  // namespace

Result<GainPosterior> posterior_gain(const GainModel& model,
                                     const std::vector<Observed>& observed) {
  LINTEL_TRY_VOID(validate(model, observed));
  const auto by_date = [](const Observed& a, const Observed& b) { return a.date < b.date; };
  GainPosterior out;
  out.origin = std::min_element(observed.begin(), observed.end(), by_date)->date;
  out.last = std::max_element(observed.begin(), observed.end(), by_date)->date;
  out.levelling_weeks = model.levelling_weeks;
  out.sessions = static_cast<int>(observed.size());
  // Values as differences from the first one and in units of the smallest error, so that the two
  // columns are of like size whatever the unit.
  const double shift = observed.front().value.value;
  double unit = observed.front().value.standard_error;
  for (const Observed& o : observed) unit = std::min(unit, o.value.standard_error);
  Eigen::Matrix2d precision = Eigen::Matrix2d::Zero();
  Eigen::Vector2d weighted = Eigen::Vector2d::Zero();
  for (const Observed& o : observed) {
    const Eigen::Vector2d row(1.0, basis(weeks_between(out.origin, o.date), model.levelling_weeks));
    const double weight = std::pow(unit / o.value.standard_error, 2);
    precision += weight * row * row.transpose();
    weighted += weight * row * (o.value.value - shift) / unit;
  }
  const double prior_weight = std::pow(unit / model.prior.standard_error, 2);
  precision(1, 1) += prior_weight;
  weighted(1) += prior_weight * model.prior.value / unit;
  const Eigen::LDLT<Eigen::Matrix2d> factor(precision);
  const Eigen::Vector2d mean = unit * factor.solve(weighted);
  const Eigen::Matrix2d covariance = unit * unit * factor.solve(Eigen::Matrix2d::Identity());
  out.start = {shift + mean(0), std::sqrt(covariance(0, 0))};
  out.gain = {mean(1), std::sqrt(covariance(1, 1))};
  out.covariance = 0.5 * (covariance(0, 1) + covariance(1, 0));
  return out;
}

Estimate value_on(const GainPosterior& p, Date day) {
  const double h = basis(weeks_between(p.origin, day), p.levelling_weeks);
  const double variance = p.start.standard_error * p.start.standard_error +
                          h * h * p.gain.standard_error * p.gain.standard_error +
                          2 * h * p.covariance;
  return {p.start.value + h * p.gain.value, std::sqrt(std::max(variance, 0.0))};
}

double probability_reached(const GainPosterior& posterior, double target, Date day) {
  const Estimate value = value_on(posterior, day);
  return normal_cdf((value.value - target) / value.standard_error);
}

std::optional<Estimate> response_multiplier(const GainPosterior& posterior,
                                            const GainModel& model) {
  if (model.prior.value == 0) return std::nullopt;
  return Estimate{posterior.gain.value / model.prior.value,
                  posterior.gain.standard_error / std::abs(model.prior.value)};
}

double probability_gain_above(const GainPosterior& posterior, double least) {
  return normal_cdf((posterior.gain.value - least) / posterior.gain.standard_error);
}

std::optional<Date> date_reached(const GainPosterior& posterior, double target, double probability,
                                 Date from, double longest_weeks) {
  const int days = static_cast<int>(std::floor(longest_weeks * kDaysPerWeek));
  for (int i = 0; i <= days; ++i) {
    if (probability_reached(posterior, target, from + i) >= probability) return from + i;
  }
  return std::nullopt;
}

Interval interval_of(const Estimate& estimate, double level) {
  const double z = normal_quantile(0.5 + 0.5 * level);
  return {estimate.value - z * estimate.standard_error,
          estimate.value + z * estimate.standard_error};
}

std::string_view working_name(Working working) {
  constexpr std::array<std::string_view, 4> kNames = {"too_early", "yes", "open", "no"};
  return kNames[static_cast<std::size_t>(working)];
}

Working is_working(const GainPosterior& posterior, const WorkingRules& rules) {
  if (posterior.sessions < 2 ||
      weeks_between(posterior.origin, posterior.last) < rules.after_weeks) {
    return Working::TooEarly;
  }
  const double p = probability_gain_above(posterior, rules.least_gain);
  if (p < rules.least_probability) return Working::No;
  return p >= 1 - rules.least_probability ? Working::Yes : Working::Open;
}

}  // namespace lintel::plan
