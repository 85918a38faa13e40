// The named clips: who lifts, how, seen by which camera.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "demo/camera.h"
#include "demo/figure.h"
#include "demo/motion.h"
#include "demo/renderer.h"
#include "demo/room.h"

namespace lintel::demo {

// A second person who only stands and watches.
struct Bystander {
  Lifter lifter;
  Placement place;
};

struct ClipSpec {
  std::string name;
  std::string description;
  std::uint64_t seed = 1;
  Lifter lifter;
  Setup setup;
  MotionSpec motion;
  BarSpec bar;
  CameraSpec camera;
  RoomSpec room;
  Light light;
  std::optional<Bystander> bystander;
  double rate_hz = 30;
  bool variable_rate = false;
  int quality = 20;      // H.264 constant quality
  double longest = 1e9;  // the clip is cut here [s]
  // Mobility tests in the athlete's file, by its keys; invented like the athlete.
  std::vector<std::pair<std::string, double>> tests;
};

const std::vector<ClipSpec>& clip_table();

// Times of the frames [s], the first 0.
std::vector<double> frame_times(const ClipSpec& clip);

// Whose side is nearer to the camera.
Side near_side(const ClipSpec& clip);

}  // namespace lintel::demo
