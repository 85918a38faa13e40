// A clip becomes points: decode, find the body, find the bar, frame by frame, streamed.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>

#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"
#include "kinematics/observation.h"

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

// What is known of the film itself.
struct FilmFacts {
  int source_width_px = 0;
  int source_height_px = 0;
  double scale = 1;  // analysis px / source px
  std::string codec;
  std::string container;
  int bit_depth = 8;
  int rotation_deg = 0;
  bool variable_rate = false;
  bool is_still = false;
  std::int64_t frames = 0;
  std::int64_t corrupt_frames = 0;
  std::int64_t repaired_times = 0;
  bool ended_early = false;    // the file stops in the middle of its data
  double duration = 0;         // [s] first to last frame
  double mean_rate = 0;        // [frames/s]
  double mean_brightness = 0;  // 0..1, luma of the pictures
};

struct Observation {
  kinematics::ClipObservation clip;
  FilmFacts film;
  int people = 0;         // most people seen at once
  int chosen_person = 0;  // 1-based from the left, of those seen at the start
  std::int64_t frames_with_body = 0;
  std::int64_t frames_with_disc = 0;
  // Turn of the bar from its two ends [rad], positive: the far end to the right in the picture;
  // empty when the far disc was not seen.
  std::optional<Estimate> turn_from_disc_pair;
};

// Errors: those of media::ClipReader and of the networks; NotFound when nobody is seen in the whole
// clip; Invalid for a person number that is not there. Memory does not grow with the clip but for
// about a kilobyte of points a frame.
Result<Observation> observe_clip(const ObserveRequest& request, const WorkContext& work);

}  // namespace lintel::app
