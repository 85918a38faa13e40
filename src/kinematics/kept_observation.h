// What the networks found in a clip, as it is kept to be measured again.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "base/units.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

// What is known of the film itself.
struct FilmFacts {
  int source_width_px = 0;
  int source_height_px = 0;
  double scale = 1;  // analysis px / source px
  std::string codec;
  std::string container;
  int bit_depth = 8;
  int quarter_turns = 0;  // of the pictures as stored, clockwise
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

struct KeptObservation {
  ClipObservation clip;
  FilmFacts film;
  int people = 0;         // most people seen at once
  int chosen_person = 0;  // 1-based from the left, of those seen at the start
  std::int64_t frames_with_body = 0;
  std::int64_t frames_with_disc = 0;
  // Turn of the bar from its two ends [rad], positive: the far end to the right in the picture;
  // empty when the far disc was not seen.
  std::optional<Estimate> turn_from_disc_pair;
};

}  // namespace lintel::kinematics
