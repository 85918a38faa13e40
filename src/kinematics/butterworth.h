// Zero-lag Butterworth low-pass, choice of the cut-off by residual analysis, derivatives.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "base/result.h"

namespace lintel::kinematics {

// One pass of a 2nd-order section, transposed direct form II:
// y = b0 x + s0; s0 = b1 x - a1 y + s1; s1 = b2 x - a2 y. zi: the state of a constant input 1.
struct LowPassCoefficients {
  std::array<double, 3> b{};
  std::array<double, 3> a{};
  std::array<double, 2> zi{};
  double pass_cutoff_hz = 0;  // -3 dB point of one pass [Hz]
};

// Which cut-off is meant: of one pass, or of the filter run forward and backward (then
// tan(pi fc / fs) is divided by C = (2^(1/2) - 1)^(1/4) = 0.8022; Winter, Biomechanics and Motor
// Control of Human Movement, ch. 3).
enum class CutoffMeaning : std::uint8_t { OnePass, BothPasses };

// 2nd-order Butterworth by the bilinear transform. Invalid unless 0 < cutoff < rate / 2 [Hz] and
// the corrected one-pass cut-off exists.
Result<LowPassCoefficients> design_low_pass(double cutoff_hz, double rate_hz,
                                            CutoffMeaning meaning = CutoffMeaning::BothPasses);

// |H|^2 of one pass at a frequency = amplitude gain of forward and backward pass together.
double two_pass_gain(const LowPassCoefficients& filter, double frequency_hz, double rate_hz);

// One forward pass from rest.
std::vector<double> filter_forward(const LowPassCoefficients& filter,
                                   std::span<const double> samples);

inline constexpr int kDefaultPadding = 9;  // 3 times the number of coefficients, as is usual

// Forward and backward, the ends extended by point reflection (odd) over `padding` samples (fewer
// if the signal is shorter), each pass started in the steady state of its first sample. Finite,
// uniform samples; fewer than two come back unchanged.
std::vector<double> filter_zero_lag(const LowPassCoefficients& filter,
                                    std::span<const double> samples, int padding = kDefaultPadding);

// Cut-off range that residual analysis may choose from, and how it searches.
// Residual analysis chooses too low where noise is correlated (Yu et al. 1999), hence the floor;
// slow movements need 3 to 6 Hz, fast ones 6 to 12 Hz (after Winter, from memory).
struct CutoffRange {
  double lowest_hz = 3.0;
  double highest_hz = 8.0;
  double step_hz = 0.25;
};
struct ResidualAnalysis {
  double cutoff_hz = 0;     // chosen, within the range
  double unclamped_hz = 0;  // where the residual curve meets the noise level
  double noise = 0;         // RMS of the noise: the tail's intercept at 0 Hz, unit of the signal
  bool clamped = false;
  std::vector<double> frequency_hz;  // tried cut-offs
  std::vector<double> residual;      // RMS(raw - filtered) at each
};
// Winter's residual analysis: the tail of residual against cut-off (upper half of the frequencies
// tried, up to 0.4 of the rate or 30 Hz) is fitted by a straight line; the chosen cut-off leaves a
// residual equal to the line's intercept. Uniform, finite samples. A signal shorter than 30 samples
// gives the highest cut-off that the range and the rate allow.
ResidualAnalysis residual_analysis(std::span<const double> samples, double rate_hz,
                                   const CutoffRange& range = {});

// A curve with its own time stamps (variable frame rate) and possibly missing values (NaN).
struct CurveFilterOptions {
  double cutoff_hz = 0;  // 0 = by residual analysis
  CutoffRange range = {};
  double longest_gap = 0.25;  // [s] longer gaps stay NaN and split the curve
  int padding = kDefaultPadding;
};
struct FilteredCurve {
  std::vector<double> value;  // at the given times, NaN in long gaps
  double cutoff_hz = 0;       // 0 = nothing was filtered (too few samples)
  double noise = 0;           // RMS of raw - filtered
};
// Resamples each unbroken stretch uniformly at about its median rate (cubic through four
// neighbours, straight across missing samples), filters, and reads back at the given times, missing
// ones in short gaps included. Uniform curves are not resampled. A stretch of fewer than 4 samples
// comes back as it is.
// Invalid: sizes differ, time not finite or not strictly increasing (place.frame says where).
Result<FilteredCurve> filter_curve(std::span<const double> time, std::span<const double> value,
                                   const CurveFilterOptions& options = {});

// Slope of the parabola through each sample and its two neighbours (central difference on uniform
// time), one-sided at the ends and beside NaN; NaN where there is no neighbour.
std::vector<double> derivative(std::span<const double> time, std::span<const double> value);

// Size and order of a time axis: Invalid with the frame at fault.
Result<void> check_time(std::span<const double> time, std::size_t expected_size,
                        std::string_view field);
// Median of the inverse time steps [Hz]; 0 for fewer than two samples.
double median_rate(std::span<const double> time);

}  // namespace lintel::kinematics
