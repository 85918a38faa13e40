#include "reasoning/seen_posture.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lintel::reasoning {

namespace {

// Bisection until both ends are known, then false position after the Illinois rule with a bisection
// in between, so that a flat piece or a jump does not hold it up.
class Bracket {
 public:
  Bracket(double low, double high) : low_{low, {}}, high_{high, {}} {}

  double next() {
    const double middle = 0.5 * (low_.at + high_.at);
    if (!low_.value || !high_.value || ++steps_ % 4 == 0) return middle;
    const double at =
        (low_.at * *high_.value - high_.at * *low_.value) / (*high_.value - *low_.value);
    const double margin = 1e-3 * (high_.at - low_.at);
    return std::clamp(at, low_.at + margin, high_.at - margin);
  }
  // The value is positive on the low side.
  void put(double at, double value) {
    const bool low = value > 0.0;
    End& moved = low ? low_ : high_;
    End& other = low ? high_ : low_;
    moved = {at, value};
    if (other.value && last_low_ == low) other.value = 0.5 * *other.value;
    last_low_ = low;
  }
  double width() const { return high_.at - low_.at; }

 private:
  struct End {
    double at;
    std::optional<double> value;
  };
  End low_, high_;
  std::optional<bool> last_low_;
  int steps_ = 0;
};

}  // namespace

Result<std::optional<posture::Posture>> posture_at_lean(const posture::BodyParameters& body,
                                                        const body::Setup& setup,
                                                        const posture::Limits& limits,
                                                        double lean) {
  using posture::Limit;
  constexpr double kClose = 1e-10;  // [rad]
  posture::Limits free = elastic(limits);
  free[Limit::ShoulderElevation].edge = std::numeric_limits<double>::infinity();
  free[Limit::LatissimusLength].edge = std::numeric_limits<double>::infinity();
  Bracket range(0.0, 60.0 * kRadiansPerDegree);
  std::optional<posture::Posture> found;
  posture::WarmStart warm;
  for (int i = 0; i < 36 && range.width() > kClose; ++i) {
    const double ankle = range.next();
    free[Limit::AnkleDorsiflexion].edge = ankle;
    const posture::Model model = LINTEL_TRY(posture::Model::create(body, setup, free));
    const posture::Solution s = posture::solve_most_upright(model, {}, found ? &warm : nullptr);
    warm = s.warm_start;
    found = s.posture;
    const double beyond = s.posture.trunk_inclination - lean;
    if (std::abs(beyond) < kClose) break;
    range.put(ankle, beyond);
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
