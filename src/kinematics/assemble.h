// Repetitions with every channel's start, bottom and change, their errors, and the spread over
// repetitions.
#pragma once

#include <functional>
#include <optional>

#include "base/result.h"
#include "kinematics/measurement.h"
#include "kinematics/repetitions.h"

namespace lintel::kinematics {

// What is known of the errors of the curves beyond Series::standard_error.
struct CurveErrors {
  // Covariance of two values (channel, frame), unit of one times unit of the other; nothing =
  // not known. May be empty: then common_standard_error is used.
  std::function<std::optional<double>(Channel, std::size_t, Channel, std::size_t)> covariance;
  // Part of each channel's standard error that is the same in all frames (segment lengths, camera,
  // a landmark's constant offset): cancels in changes. 0 = errors of frames are independent.
  std::array<double, kChannelCount> common_standard_error{};
};

// Repetition entry from events: values of the fitted curves (of filtered, then raw, where there
// is no fit) at start and bottom. Channels without a curve are NaN.
Repetition assemble_repetition(const std::array<Series, kChannelCount>& series,
                               const RepetitionEvents& events, const CurveErrors& errors = {});

// Repetitions on HipHeight, KneeFlexion and BarY of the series; errors as find_repetitions; none
// without a hip height.
Result<std::vector<RepetitionEvents>> find_events(std::span<const double> time,
                                                  const std::array<Series, kChannelCount>& series,
                                                  const RepetitionOptions& options = {});

// Finds repetitions on HipHeight, KneeFlexion and BarY of the series and assembles them.
// Invalid as find_repetitions; no hip height at all gives no repetition.
Result<std::vector<Repetition>> assemble_repetitions(
    std::span<const double> time, const std::array<Series, kChannelCount>& series,
    const RepetitionOptions& options = {}, const CurveErrors& errors = {});

// Mean and standard deviation (n - 1) at the bottom over completed repetitions; the deviation is
// NaN for fewer than two.
Consistency compute_consistency(std::span<const Repetition> repetitions);

// The change of shoulder elevation from start to bottom, split (docs/notation.md, "Shoulder").
struct ShoulderSplit {
  Estimate
      demanded;    // [rad] change of trunk inclination: what an arm that keeps its direction asks
  Estimate given;  // [rad] measured change - demanded = -(change of arm inclination)
};
ShoulderSplit split_shoulder_change(const std::array<Series, kChannelCount>& series,
                                    std::size_t start_frame, std::size_t bottom_frame,
                                    const CurveErrors& errors = {});

}  // namespace lintel::kinematics
