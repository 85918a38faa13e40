// The standard normal distribution.
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lintel {

inline double normal_density(double z) {
  return std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
}

inline double normal_cdf(double z) {
  return 0.5 * std::erfc(-z / std::numbers::sqrt2);
}

// The z below which a share p lies; p in (0, 1). Bisection on the distribution itself: exact to
// rounding, a microsecond or two, not for inner loops.
inline double normal_quantile(double p) {
  // The lower tail keeps its digits; the upper one is its mirror image.
  if (p > 0.5) return -normal_quantile(1.0 - p);
  double low = -40.0, high = 0.0;
  while (high - low > 1e-15 * std::max(1.0, -low)) {
    const double middle = 0.5 * (low + high);
    if (middle == low || middle == high) break;
    (normal_cdf(middle) < p ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace lintel
