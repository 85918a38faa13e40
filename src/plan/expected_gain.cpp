#include "plan/expected_gain.h"

#include <algorithm>
#include <cmath>

#include "base/normal.h"
#include "plan/plan.h"
#include "plan/planner.h"
#include "plan/rules.h"

namespace lintel::plan {
namespace {

double upper_tail(double z) {
  return normal_cdf(-z);
}
// Antiderivative of the upper tail.
double tail_integral(double z) {
  return z * upper_tail(z) - normal_density(z);
}

}  // namespace

// E[min(x, Y)] = integral of P(Y > t) from 0 to x, for x >= 0.
double expected_reduction(double gain, const Estimate& size, double probability) {
  if (gain <= 0.0) return 0.0;
  const double sigma = size.standard_error;
  if (sigma <= 0.0) return probability * std::min(gain, std::max(0.0, size.value));
  const double from = -size.value / sigma;
  const double to = (gain - size.value) / sigma;
  return probability * std::max(0.0, sigma * (tail_integral(to) - tail_integral(from)));
}

double expected_reduction_slope(double gain, const Estimate& size, double probability) {
  if (size.standard_error <= 0.0) return gain < size.value ? probability : 0.0;
  return probability * upper_tail((gain - size.value) / size.standard_error);
}

double saturated_gain(double gain, double full, double further) {
  if (gain <= full) return gain;
  if (further <= 0.0) return full;
  return full + further * (1.0 - std::exp(-(gain - full) / further));
}

double saturated_gain_slope(double gain, double full, double further) {
  if (gain < full) return 1.0;
  return further > 0.0 ? std::exp(-(gain - full) / further) : 0.0;
}

double counted_weeks(int weeks, double most) {
  static const double kShare = plan_rules().value("deload.share");
  double counted = 0.0;
  for (int week = 1; week <= weeks && most > 0.0; ++week, most -= 1.0) {
    counted += std::min(1.0, most) * (is_deload_week(week) ? kShare : 1.0);
  }
  return counted;
}

double dose_share(const Gain& gain, Mode mode, const Dose& dose) {
  if (gain.reference_time <= 0.0) return 0.0;
  const double time = mode == Mode::StaticStretch ? dose.hold_per_week() : dose.time_per_week();
  return std::min(1.0, time / gain.reference_time);
}

double planned_gain(const Gain& gain, Mode mode, const Dose& dose, int weeks) {
  return gain.per_week * dose_share(gain, mode, dose) * counted_weeks(weeks, gain.weeks);
}

}  // namespace lintel::plan
