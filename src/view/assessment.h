// Everything one assessment shows, gathered for the writers of files and pages.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "kinematics/measurement.h"
#include "view/explanation.h"

namespace lintel::view {

struct ClipFacts {
  std::string file_name;    // without folders
  std::string sha256;       // of the file, lower-case hex; empty = not known
  std::string recorded_on;  // ISO 8601 date or date and time; empty = not known
  int width_px = 0;         // of the upright analysis picture
  int height_px = 0;
  double frame_rate = 0;  // [frames/s], 0 = still picture
  std::int64_t frame_count = 0;
  double duration = 0;  // [s]
};

// What the lift was done with; only what is known.
struct SetupFacts {
  std::optional<double> bar_mass;        // [kg]
  std::optional<double> stance_width;    // [m]
  std::optional<double> toe_out;         // [rad]
  std::optional<double> heel_elevation;  // [m]
  std::optional<double> grip_width;      // [m]
  std::string bar_position;              // "overhead", "back", "front", "none"; empty = not known
};

struct Assessment {
  std::string program_version;  // "0.1.0"
  std::string assessed_on;      // ISO 8601 date
  std::string athlete_id;       // empty = nobody named
  std::string athlete_name;
  ClipFacts clip;
  SetupFacts setup;
  const kinematics::Measurement* side = nullptr;        // not owned; null = no side view
  const kinematics::FrontMeasurement* front = nullptr;  // not owned; null = no front view
  std::optional<Explanation> explanation;
};

}  // namespace lintel::view
