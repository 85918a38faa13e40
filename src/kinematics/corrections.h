// What a person corrected by hand on a clip: points, events, who is measured, the vertical.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "base/result.h"
#include "kinematics/measurement.h"
#include "kinematics/observation.h"
#include "kinematics/repetitions.h"

namespace lintel::kinematics {

struct MovedPoint {
  std::int64_t frame = 0;  // FrameObservation::index
  Landmark landmark = Landmark::Nose;
  Eigen::Vector2f position_px = {0, 0};
};

struct ShiftedEvent {
  int repetition = 1;  // 1-based, as counted without corrections
  RepetitionMoment moment = RepetitionMoment::Bottom;
  std::int64_t frame = 0;  // Measurement::frame_index
};

struct Corrections {
  std::vector<MovedPoint> points;
  std::vector<ShiftedEvent> events;
  std::optional<int> person;            // 1-based from the left
  std::optional<double> vertical_roll;  // [rad] clockwise turn of the picture
  std::optional<double> disc_diameter;  // [m]

  bool empty() const {
    return points.empty() && events.empty() && !person && !vertical_roll && !disc_diameter;
  }
};

// The clip with the points where the person put them, as seen with confidence 1. Errors: Invalid
// for a frame that is not there or shows no body, or a point outside the picture (with the field,
// "corrections.points[3]").
Result<ClipObservation> with_moved_points(const ClipObservation& clip,
                                          std::span<const MovedPoint> points);

// Repetitions with their events where the person put them. Errors: Invalid for a repetition or
// frame that is not there, or events out of order.
Result<std::vector<RepetitionEvents>> with_shifted_events(std::vector<RepetitionEvents> found,
                                                          std::span<const ShiftedEvent> events,
                                                          std::span<const double> time,
                                                          std::span<const std::int64_t> frames);

}  // namespace lintel::kinematics
