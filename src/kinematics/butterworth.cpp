#include "kinematics/butterworth.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <string>

namespace lintel::kinematics {
namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
// Steps within this share of the median count as uniform: time stamps are rounded.
constexpr double kUniformTolerance = 0.02;
// Steps longer than this many medians are bridged by a straight line, not a cubic.
constexpr double kCubicReach = 2.5;
constexpr double kHighestCutoffShare = 0.45;  // of the rate; at 0.5 the filter does nothing
constexpr std::size_t kFewestSamples = 4;

// One pass from the state zi * first, in place.
void run_pass(const LowPassCoefficients& f, std::vector<double>& x) {
  double s0 = f.zi[0] * x.front();
  double s1 = f.zi[1] * x.front();
  for (double& sample : x) {
    const double in = sample;
    const double out = f.b[0] * in + s0;
    s0 = f.b[1] * in - f.a[1] * out + s1;
    s1 = f.b[2] * in - f.a[2] * out;
    sample = out;
  }
}

// Known samples of one unbroken stretch of a curve.
struct Stretch {
  std::vector<double> time;
  std::vector<double> value;
  std::size_t first = 0;  // index range in the curve, inclusive
  std::size_t last = 0;
};

std::vector<Stretch> split_at_gaps(std::span<const double> time, std::span<const double> value,
                                   double longest_gap) {
  std::vector<Stretch> stretches;
  for (std::size_t i = 0; i < value.size(); ++i) {
    if (!std::isfinite(value[i])) continue;
    if (stretches.empty() || time[i] - stretches.back().time.back() > longest_gap) {
      // A step of the axis itself longer than the gap (slow frame rate) is not a gap.
      if (stretches.empty() || i - stretches.back().last > 1) {
        stretches.emplace_back();
        stretches.back().first = i;
      }
    }
    stretches.back().time.push_back(time[i]);
    stretches.back().value.push_back(value[i]);
    stretches.back().last = i;
  }
  return stretches;
}

double median_step(std::span<const double> time) {
  std::vector<double> steps(time.size() - 1);
  for (std::size_t i = 0; i + 1 < time.size(); ++i) steps[i] = time[i + 1] - time[i];
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle;
}

bool is_uniform(std::span<const double> time, double step) {
  for (std::size_t i = 0; i + 1 < time.size(); ++i) {
    if (std::abs(time[i + 1] - time[i] - step) > kUniformTolerance * step) return false;
  }
  return true;
}

// Slope of the parabola through (-h0, y0), (0, y1), (h1, y2) at 0.
double parabola_slope(double h0, double h1, double y0, double y1, double y2) {
  return ((y1 - y0) * h1 / h0 + (y2 - y1) * h0 / h1) / (h0 + h1);
}

// Cubic Hermite through the samples with parabola slopes; time within the samples' range.
class Interpolator {
 public:
  Interpolator(std::span<const double> time, std::span<const double> value, double step)
      : time_(time), value_(value), step_(step), slope_(derivative(time, value)) {}

  double operator()(double t) {
    while (at_ + 2 < time_.size() && t > time_[at_ + 1]) ++at_;
    const double h = time_[at_ + 1] - time_[at_];
    const double u = std::clamp((t - time_[at_]) / h, 0.0, 1.0);
    const double y0 = value_[at_], y1 = value_[at_ + 1];
    if (h > kCubicReach * step_) return y0 + u * (y1 - y0);
    const double m0 = slope_[at_] * h, m1 = slope_[at_ + 1] * h;
    const double v = 1.0 - u;
    return y0 * v * v * (1.0 + 2.0 * u) + y1 * u * u * (3.0 - 2.0 * u) + m0 * u * v * v -
           m1 * u * u * v;
  }

 private:
  std::span<const double> time_;
  std::span<const double> value_;
  double step_;
  std::vector<double> slope_;
  std::size_t at_ = 0;
};

struct UniformStretch {
  double start = 0;
  double step = 0;
  std::vector<double> sample;
  bool resampled = false;
};

UniformStretch resample(const Stretch& stretch) {
  UniformStretch out;
  out.start = stretch.time.front();
  out.step = median_step(stretch.time);
  if (is_uniform(stretch.time, out.step)) {
    out.sample = stretch.value;
    out.step = (stretch.time.back() - out.start) / static_cast<double>(stretch.time.size() - 1);
    return out;
  }
  out.resampled = true;
  const double span = stretch.time.back() - out.start;
  const auto intervals = std::max(1.0, std::ceil(span / out.step));
  out.step = span / intervals;
  Interpolator interpolate(stretch.time, stretch.value, out.step);
  for (int i = 0; i <= static_cast<int>(intervals); ++i) {
    out.sample.push_back(interpolate(out.start + i * out.step));
  }
  return out;
}

// Writes one filtered stretch into the curve; returns the sum of squared residuals.
double write_back(const Stretch& stretch, const UniformStretch& uniform,
                  const std::vector<double>& filtered, std::span<const double> time,
                  std::span<const double> raw, std::vector<double>& out) {
  std::vector<double> grid(filtered.size());
  for (std::size_t i = 0; i < grid.size(); ++i) {
    grid[i] = uniform.start + static_cast<double>(i) * uniform.step;
  }
  Interpolator interpolate(grid, filtered, uniform.step);
  double squares = 0;
  std::size_t known = 0;
  for (std::size_t i = stretch.first; i <= stretch.last; ++i) {
    const bool is_known = std::isfinite(raw[i]);
    out[i] = !uniform.resampled && is_known ? filtered[known] : interpolate(time[i]);
    if (!is_known) continue;
    ++known;
    squares += (raw[i] - out[i]) * (raw[i] - out[i]);
  }
  return squares;
}

}  // namespace

Result<LowPassCoefficients> design_low_pass(double cutoff_hz, double rate_hz,
                                            CutoffMeaning meaning) {
  if (!(rate_hz > 0) || !(cutoff_hz > 0) || !(cutoff_hz < 0.5 * rate_hz) ||
      !std::isfinite(rate_hz)) {
    return fail(ErrorCode::Invalid, "the cut-off must lie between 0 and half the frame rate",
                "choose a lower cut-off or a higher frame rate");
  }
  double w = std::tan(std::numbers::pi * cutoff_hz / rate_hz);
  if (meaning == CutoffMeaning::BothPasses) w /= std::pow(std::numbers::sqrt2 - 1.0, 0.25);
  LowPassCoefficients f;
  const double norm = 1.0 + std::numbers::sqrt2 * w + w * w;
  f.b[0] = w * w / norm;
  f.b[1] = 2.0 * f.b[0];
  f.b[2] = f.b[0];
  f.a[0] = 1.0;
  f.a[1] = 2.0 * (w * w - 1.0) / norm;
  f.a[2] = (1.0 - std::numbers::sqrt2 * w + w * w) / norm;
  // Steady state of a constant 1 (the gain at 0 Hz is 1): s1 = b2 - a2, s0 = b1 - a1 + s1.
  f.zi[1] = f.b[2] - f.a[2];
  f.zi[0] = f.b[1] - f.a[1] + f.zi[1];
  f.pass_cutoff_hz = std::atan(w) * rate_hz / std::numbers::pi;
  return f;
}

double two_pass_gain(const LowPassCoefficients& filter, double frequency_hz, double rate_hz) {
  const double omega = 2.0 * std::numbers::pi * frequency_hz / rate_hz;
  const auto power = [omega](const std::array<double, 3>& p) {
    const double re = p[0] + p[1] * std::cos(omega) + p[2] * std::cos(2.0 * omega);
    const double im = p[1] * std::sin(omega) + p[2] * std::sin(2.0 * omega);
    return re * re + im * im;
  };
  return power(filter.b) / power(filter.a);
}

std::vector<double> filter_forward(const LowPassCoefficients& filter,
                                   std::span<const double> samples) {
  std::vector<double> out(samples.begin(), samples.end());
  if (out.empty()) return out;
  LowPassCoefficients from_rest = filter;
  from_rest.zi = {0.0, 0.0};
  run_pass(from_rest, out);
  return out;
}

std::vector<double> filter_zero_lag(const LowPassCoefficients& filter,
                                    std::span<const double> samples, int padding) {
  const std::size_t n = samples.size();
  if (n < 2) return {samples.begin(), samples.end()};
  const std::size_t pad = std::min(static_cast<std::size_t>(std::max(padding, 0)), n - 1);
  std::vector<double> x;
  x.reserve(n + 2 * pad);
  for (std::size_t i = pad; i > 0; --i) x.push_back(2.0 * samples[0] - samples[i]);
  x.insert(x.end(), samples.begin(), samples.end());
  for (std::size_t i = 1; i <= pad; ++i) x.push_back(2.0 * samples[n - 1] - samples[n - 1 - i]);
  run_pass(filter, x);
  std::reverse(x.begin(), x.end());
  run_pass(filter, x);
  std::reverse(x.begin(), x.end());
  const auto first = x.begin() + static_cast<std::ptrdiff_t>(pad);
  return {first, first + static_cast<std::ptrdiff_t>(n)};
}

Result<void> check_time(std::span<const double> time, std::size_t expected_size,
                        std::string_view field) {
  if (time.size() != expected_size) {
    Error error{ErrorCode::Invalid, "the curve and its time axis differ in length", {}, "", {}};
    error.place.field = field;
    return fail(std::move(error));
  }
  for (std::size_t i = 0; i < time.size(); ++i) {
    if (std::isfinite(time[i]) && (i == 0 || time[i] > time[i - 1])) continue;
    Error error{ErrorCode::Invalid,
                "time stamps must be finite and increase",
                {},
                "re-encode the clip, or drop the frames with repeated time stamps",
                {}};
    error.place.field = field;
    error.place.frame = static_cast<std::int64_t>(i);
    return fail(std::move(error));
  }
  return {};
}

double median_rate(std::span<const double> time) {
  return time.size() < 2 ? 0.0 : 1.0 / median_step(time);
}

Result<FilteredCurve> filter_curve(std::span<const double> time, std::span<const double> value,
                                   const CurveFilterOptions& options) {
  LINTEL_TRY_VOID(check_time(time, value.size(), "time"));
  FilteredCurve out;
  out.value.assign(value.size(), kNan);
  std::vector<Stretch> stretches = split_at_gaps(time, value, options.longest_gap);
  std::vector<UniformStretch> uniform(stretches.size());
  std::size_t longest = stretches.size();
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    if (stretches[i].time.size() < kFewestSamples) {  // too short to filter: as it is
      for (std::size_t k = stretches[i].first; k <= stretches[i].last; ++k) out.value[k] = value[k];
      continue;
    }
    uniform[i] = resample(stretches[i]);
    if (longest == stretches.size() || uniform[i].sample.size() > uniform[longest].sample.size()) {
      longest = i;
    }
  }
  if (longest == stretches.size()) return out;
  double cutoff = options.cutoff_hz;
  if (!(cutoff > 0)) {
    cutoff = residual_analysis(uniform[longest].sample, 1.0 / uniform[longest].step, options.range)
                 .cutoff_hz;
  }
  double squares = 0;
  std::size_t count = 0;
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    if (uniform[i].sample.empty()) continue;
    const double rate = 1.0 / uniform[i].step;
    const LowPassCoefficients filter =
        LINTEL_TRY(design_low_pass(std::min(cutoff, kHighestCutoffShare * rate), rate));
    if (i == longest) out.cutoff_hz = std::min(cutoff, kHighestCutoffShare * rate);
    const std::vector<double> filtered =
        filter_zero_lag(filter, uniform[i].sample, options.padding);
    squares += write_back(stretches[i], uniform[i], filtered, time, value, out.value);
    count += stretches[i].time.size();
  }
  out.noise = std::sqrt(squares / static_cast<double>(count));
  return out;
}

std::vector<double> derivative(std::span<const double> time, std::span<const double> value) {
  const std::size_t n = std::min(time.size(), value.size());
  std::vector<double> out(n, kNan);
  for (std::size_t i = 0; i < n; ++i) {
    if (!std::isfinite(value[i])) continue;
    const bool before = i > 0 && std::isfinite(value[i - 1]);
    const bool after = i + 1 < n && std::isfinite(value[i + 1]);
    if (before && after) {
      out[i] = parabola_slope(time[i] - time[i - 1], time[i + 1] - time[i], value[i - 1], value[i],
                              value[i + 1]);
    } else if (after) {
      out[i] = (value[i + 1] - value[i]) / (time[i + 1] - time[i]);
    } else if (before) {
      out[i] = (value[i] - value[i - 1]) / (time[i] - time[i - 1]);
    }
  }
  return out;
}

}  // namespace lintel::kinematics
