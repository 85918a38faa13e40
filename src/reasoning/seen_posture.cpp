#include "reasoning/seen_posture.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lintel::reasoning {

Result<std::optional<posture::Posture>> posture_at_lean(const posture::BodyParameters& body,
                                                        const body::Setup& setup,
                                                        const posture::Limits& limits,
                                                        double lean) {
  using posture::Limit;
  posture::Limits free = elastic(limits);
  free[Limit::ShoulderElevation].edge = std::numeric_limits<double>::infinity();
  free[Limit::LatissimusLength].edge = std::numeric_limits<double>::infinity();
  double low = 0.0;
  double high = 60.0 * kRadiansPerDegree;
  std::optional<posture::Posture> found;
  posture::WarmStart warm;
  for (int i = 0; i < 36; ++i) {
    const double middle = 0.5 * (low + high);
    free[Limit::AnkleDorsiflexion].edge = middle;
    const posture::Model model = LINTEL_TRY(posture::Model::create(body, setup, free));
    const posture::Solution s = posture::solve_most_upright(model, {}, found ? &warm : nullptr);
    warm = s.warm_start;
    found = s.posture;
    (s.posture.trunk_inclination > lean ? low : high) = middle;
  }
  if (std::abs(found->trunk_inclination - lean) > 0.5 * kRadiansPerDegree) {
    return std::optional<posture::Posture>();
  }
  return found;
}

std::optional<Estimate> mean_over_repetitions(std::span<const Estimate> values) {
  double sum = 0.0, errors = 0.0, n = 0.0;
  const auto is_known = [](const Estimate& e) {
    return std::isfinite(e.value) && std::isfinite(e.standard_error);
  };
  for (const Estimate& e : values) {
    if (!is_known(e)) continue;
    n += 1.0;
    sum += e.value;
    errors += e.standard_error;
  }
  if (n == 0.0) return std::nullopt;
  const double mean = sum / n;
  double squares = 0.0;
  for (const Estimate& e : values) {
    if (is_known(e)) squares += (e.value - mean) * (e.value - mean);
  }
  const double variance = n > 1.0 ? squares / (n - 1.0) : 0.0;
  return Estimate{mean, std::hypot(errors / n, std::sqrt(variance / n))};
}

}  // namespace lintel::reasoning
