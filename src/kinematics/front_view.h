// Stance, toes, grip, knees, hips and bar from a clip filmed from the front (or from behind).
#pragma once

#include <vector>

#include "base/result.h"
#include "kinematics/camera_check.h"
#include "kinematics/measurement.h"

namespace lintel::kinematics {

struct FrontOptions {
  std::optional<body::SegmentLengths> lengths = {};  // gives the scale; without it lengths are NaN
  std::optional<Estimate> focal_px = {};
  // [m] error of one landmark's position across the picture (published joint-centre differences
  // of markerless capture: 1 to 5 cm at hip and knee, 1 to 2 cm at the ankle).
  double landmark_standard_error = 0.015;
};

struct FrontFinding {
  FrontMeasurement measurement;  // NaN where not known, never a guess
  Estimate pixels_per_metre;     // in the body's frontal plane; NaN without lengths
  bool from_behind = false;
  std::size_t bottom_frame = 0;  // index into clip.frames; 0 without a squat
  bool squat_seen = false;       // otherwise the *_bottom fields are NaN
  std::vector<Warning> warnings;
};

// Unsupported: the clip is a side view. Invalid: no frame with a body.
Result<FrontFinding> measure_front(const ClipObservation& clip, const FrontOptions& options = {});

}  // namespace lintel::kinematics
