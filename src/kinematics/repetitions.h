// Counts squats in a curve of hip height and finds their start, bottom and end.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "base/result.h"
#include "kinematics/measurement.h"

namespace lintel::kinematics {

// Curves of one clip; all of time's length, NaN where not known.
struct RepetitionCurves {
  std::span<const double> time;             // [s], strictly increasing
  std::span<const double> hip_height;       // above the floor [m], or in leg lengths
  std::span<const double> knee_flexion;     // [rad]; may be empty: then bends are not told apart
  std::span<const double> bar_height = {};  // same unit as hip_height; may be empty
};

// Depths are shares of the standing hip height, so that metres and leg lengths both do.
struct RepetitionOptions {
  // Least drop of the hips. A half squat (thigh 60 degrees from vertical) drops by 0.29, a quarter
  // squat by 0.12 of the standing hip height (geometry of equal shank and thigh): in between.
  double least_drop = 0.20;
  // Knees at the bottom [rad]. A forward bend keeps them straight; 50 degrees is half of what a
  // half squat needs.
  double least_knee_flexion = 50.0 * kRadiansPerDegree;
  // Standing again: this share of the drop is made good. Lenient, for those who do not lock out.
  double standing_share = 0.80;
  // A rise of this share of the drop followed by sinking again is an attempt that failed.
  double attempt_share = 0.35;
  // [s] at the bottom until the end of the clip: given up, rather than cut off by the camera.
  double given_up_after = 5.0;
  // Low-pass of the hip height [Hz]: a squat's height curve is below 2 Hz, landmark jitter above.
  double smoothing_hz = 4.0;
  // Speed below which a squat pauses, in standing hip heights a second (about 4 cm/s), and the
  // least duration [s] (common practice, no source).
  double pause_speed = 0.045;
  double least_pause = 0.30;
  // Around the lowest height, share of the standing hip height (2 cm of 0.9 m).
  double bottom_band = 0.02 / 0.9;
  // Hips standing, unit of hip_height; 0 = from the curve (95th percentile).
  double standing_hip_height = 0;
  // [s] a gap of the curve that is bridged by a straight line; longer ones split the clip.
  double longest_gap = 0.5;
};

struct RepetitionEvents {
  std::size_t start_frame = 0;
  std::size_t bottom_frame = 0;
  std::size_t end_frame = 0;
  RepetitionOutcome outcome = RepetitionOutcome::Completed;
  double bottom_time = 0;          // [s], between frames
  double lowest_hip_height = 0;    // of the smoothed curve, unit of hip_height
  double standing_hip_height = 0;  // before the descent, unit of hip_height
  double descent_duration = 0;     // [s] start until the bottom band is entered
  double bottom_duration = 0;      // [s] within the bottom band
  double ascent_duration = 0;      // [s] from leaving the bottom band until the end
  std::vector<Pause> pauses;       // also those at the bottom
};

// Repetitions in order of time. Partial dips, sway and forward bends are not counted. A clip that
// is too short to say anything (under 5 usable frames) gives none. Invalid: sizes differ, time
// not strictly increasing.
// Completed: standing, down by least_drop, standing again. CutOff: the clip starts or ends (or
// loses the body for longer than longest_gap) within. Failed: the bar falls on the hips or below,
// or the athlete rises by attempt_share and sinks again, or stays down for given_up_after.
Result<std::vector<RepetitionEvents>> find_repetitions(const RepetitionCurves& curves,
                                                       const RepetitionOptions& options = {});

}  // namespace lintel::kinematics
