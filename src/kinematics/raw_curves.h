// Curves straight from the landmarks, without a model: what the fit is held against.
#pragma once

#include <array>
#include <vector>

#include "kinematics/measurement.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

enum class LandmarkChoice : std::uint8_t { Refined, Regressed };

struct RawCurveOptions {
  LandmarkChoice landmarks = LandmarkChoice::Refined;
  // The disc's centre stands for the hand (a disc hides the wrists and draws them to the head).
  bool bar_from_disc = true;
  double disc_radius = 0.225;  // [m]; scale of the bar path in the disc's own plane
};

// One value a frame and channel: angles [rad] of the near side in the picture's plane, lengths [m]
// by check.pixels_per_metre (NaN without a scale), forward distances from the median mid-foot of
// the clip. NaN where a landmark is missing (no body). Channels that a picture alone does not give
// (centre of mass) are NaN. Foot inclination and heel lift are taken from standing, the first tenth
// of the frames with the highest hips.
std::array<std::vector<double>, kChannelCount> raw_curves(const ClipObservation& clip,
                                                          const CameraCheck& check,
                                                          const RawCurveOptions& options = {});

}  // namespace lintel::kinematics
