#include <algorithm>
#include <cmath>

#include "kinematics/butterworth.h"

namespace lintel::kinematics {
namespace {

constexpr std::size_t kFewestSamplesForResiduals = 30;
constexpr double kHighestTriedShare = 0.4;  // of the rate: above, the filter no longer filters
constexpr double kHighestTried = 30.0;      // [Hz]: body movement is far below, all is noise there
constexpr double kTailFrom = 0.5;           // of the highest frequency tried

double rms_difference(std::span<const double> a, std::span<const double> b) {
  double squares = 0;
  for (std::size_t i = 0; i < a.size(); ++i) squares += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(squares / static_cast<double>(a.size()));
}

// Value at 0 of the least-squares line through the tail.
double tail_intercept(const std::vector<double>& x, const std::vector<double>& y, double from) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (x[i] < from) continue;
    n += 1;
    sx += x[i];
    sy += y[i];
    sxx += x[i] * x[i];
    sxy += x[i] * y[i];
  }
  const double determinant = n * sxx - sx * sx;
  if (n < 2 || determinant <= 0) return 0;
  return (sxx * sy - sx * sxy) / determinant;
}

// Where the falling residual curve meets a level; the last frequency if it never does.
double crossing(const std::vector<double>& x, const std::vector<double>& y, double level) {
  if (y.front() <= level) return x.front();
  for (std::size_t i = 1; i < x.size(); ++i) {
    if (y[i] > level) continue;
    return x[i - 1] + (x[i] - x[i - 1]) * (y[i - 1] - level) / (y[i - 1] - y[i]);
  }
  return x.back();
}

}  // namespace

ResidualAnalysis residual_analysis(std::span<const double> samples, double rate_hz,
                                   const CutoffRange& range) {
  ResidualAnalysis out;
  const double highest_tried = std::min(kHighestTriedShare * rate_hz, kHighestTried);
  const double highest = std::min(range.highest_hz, highest_tried);
  const double lowest = std::min(range.lowest_hz, highest);
  if (samples.size() < kFewestSamplesForResiduals || !(range.step_hz > 0)) {
    out.cutoff_hz = out.unclamped_hz = highest;
    return out;
  }
  for (int i = 2; i * range.step_hz <= highest_tried; ++i) {
    const auto filter = design_low_pass(i * range.step_hz, rate_hz);
    if (!filter) continue;
    out.frequency_hz.push_back(i * range.step_hz);
    out.residual.push_back(rms_difference(samples, filter_zero_lag(*filter, samples)));
  }
  if (out.frequency_hz.size() < 4) {
    out.cutoff_hz = out.unclamped_hz = highest;
    return out;
  }
  out.noise = std::max(
      0.0, tail_intercept(out.frequency_hz, out.residual, kTailFrom * out.frequency_hz.back()));
  out.unclamped_hz = crossing(out.frequency_hz, out.residual, out.noise);
  out.cutoff_hz = std::clamp(out.unclamped_hz, lowest, highest);
  out.clamped = out.cutoff_hz != out.unclamped_hz;
  return out;
}

}  // namespace lintel::kinematics
