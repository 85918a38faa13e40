// Measured against true: errors of one clip, raw, refined and fitted side by side.
#pragma once

#include <array>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "app/measure.h"
#include "app/observe.h"
#include "support/clip_truth.h"

namespace lintel::test {

struct ChannelAccuracy {
  double regressed_rms = 0;  // the network's own coordinates [rad or m]
  double refined_rms = 0;    // refined by the heatmaps
  double fitted_rms = 0;     // the skeleton fit
  double fitted_bias = 0;    // mean of fitted - true
  double bottom_error = 0;   // fitted - true at the true bottom, mean over repetitions
  double mean_standard_error = 0;
  int inside = 0;  // frames whose truth lies within 1.96 standard errors
  int frames = 0;
};

struct ClipAccuracy {
  std::string name;
  std::array<ChannelAccuracy, kinematics::kChannelCount> channels;
  double bar_path_rms = 0;  // [m] of the path about its own mean place
  double bar_offset = 0;    // [m] of the mean place, forward
  int repetitions_true = 0;
  int repetitions_found = 0;
  double worst_bottom_frames = 0;  // frames off the stretch in which the hips are lowest
  double yaw_true = 0, yaw_found = 0, yaw_error = 0;  // [rad]
  const ChannelAccuracy& operator[](kinematics::Channel c) const {
    return channels[static_cast<std::size_t>(c)];
  }
};

// Errors are taken over the true repetitions (start to end); without any, over all frames.
ClipAccuracy compare_with_truth(const app::Observation& observation, const app::Measured& measured,
                                const ClipTruth& truth);

void print_header(std::FILE* out);
void print_accuracy(std::FILE* out, const ClipAccuracy& accuracy);

// Observe and measure one rendered clip as `lintel measure` does.
struct MeasuredClip {
  app::Observation observation;
  app::Measured measured;
  ClipTruth truth;
};
// vertical: the true vertical of the picture, as a user can give it with --vertical-deg.
enum class Vertical { NotGiven, Given };
Result<MeasuredClip> measure_rendered_clip(const std::filesystem::path& folder,
                                           const std::string& name, app::NetworkVariant variant,
                                           int threads, Vertical vertical = Vertical::NotGiven);

}  // namespace lintel::test
