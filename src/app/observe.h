// A clip becomes points: decode, find the body, find the bar, frame by frame, streamed.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"
#include "kinematics/kept_observation.h"

namespace lintel::app {

enum class NetworkVariant : std::uint8_t { Lite, Full, Heavy };

struct ObserveRequest {
  std::filesystem::path clip;
  NetworkVariant variant = NetworkVariant::Full;
  std::optional<std::filesystem::path> models;  // folder of the networks; empty = found by itself
  std::optional<int> person;     // 1-based, from left to right at the start; empty = the lifter
  double disc_diameter = 0.450;  // [m]
  double stature = 1.70;         // [m] for the first guess of the disc's size in the picture
  bool look_for_disc = true;
  double first_time = 0;  // [s]
  double last_time = 0;   // [s] 0 = to the end
  int threads = 0;        // 0 = one for each core
};

using FilmFacts = kinematics::FilmFacts;
using Observation = kinematics::KeptObservation;

// Errors: those of media::ClipReader and of the networks; NotFound when nobody is seen in the whole
// clip; Invalid for a person number that is not there. Memory does not grow with the clip but for
// about a kilobyte of points a frame.
Result<Observation> observe_clip(const ObserveRequest& request, const WorkContext& work);

}  // namespace lintel::app
