// What is exactly known about a rendered clip, read from its .truth.json (see demo/README.md).
#pragma once

#include <array>
#include <filesystem>
#include <string>
#include <vector>

#include "base/result.h"
#include "kinematics/measurement.h"

namespace lintel::test {

struct TrueFrame {
  double time = 0;                                           // [s]
  std::array<double, kinematics::kChannelCount> channels{};  // [rad] and [m]
};

struct TrueRepetition {
  double start = 0, bottom_start = 0, bottom = 0, bottom_end = 0, end = 0;  // [s]
  bool completed = true;
};

struct ClipTruth {
  std::string name;
  std::string view;  // "side", "oblique", "front"
  double yaw = 0;    // [rad]
  double roll = 0;   // [rad]
  bool has_disc = false;
  double disc_diameter = 0;  // [m]
  std::vector<TrueRepetition> repetitions;
  std::vector<TrueFrame> frames;
};

Result<ClipTruth> read_clip_truth(const std::filesystem::path& file);

}  // namespace lintel::test
