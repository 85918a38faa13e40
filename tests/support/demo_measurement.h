// Invented squats of the lifting club of Skarnholm, a town that does not exist: smooth curves by
// formula, so that tests know what must come out.
#pragma once

#include <cstdint>
#include <string>

#include "base/image.h"
#include "kinematics/measurement.h"
#include "kinematics/observation.h"
#include "view/assessment.h"

namespace lintel::test_support {

struct DemoOptions {
  int repetitions = 5;
  int width_px = 540;
  int height_px = 960;
  double facing = 1;
  double roll = 0;  // [rad]
  bool bar_seen = true;
  std::uint64_t seed = 7;
};

// 60 frames a second, 3.5 s a repetition; trunk from 8 to about 38 degrees, shank to 31, shoulder
// 178 to 205, bar within 4 cm of mid-foot. Errors 1.2 to 2.5 degrees, 0.6 cm.
kinematics::Measurement demo_measurement(const DemoOptions& options);

// The disc of the bar at a frame of that clip.
kinematics::DiscObservation demo_disc(const kinematics::Measurement& measurement,
                                      std::size_t index);

// A plain gym corner: wall, floor, a window. No person in it.
Image demo_picture(int width_px, int height_px);

// A full assessment; `measurement` must outlive it.
view::Assessment demo_assessment(const kinematics::Measurement& measurement);

}  // namespace lintel::test_support
