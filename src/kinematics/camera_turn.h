// The pieces of the camera check: standing frames, turn from the body's breadths and from the disc,
// roll, scale. check_camera puts them together.
#pragma once

#include <span>
#include <vector>

#include "kinematics/camera_check.h"

namespace lintel::kinematics {

// Weighted mean with the error of independent estimates; estimates without a finite positive error
// are left out; none: {0, infinity}.
Estimate weighted_mean(std::span<const Estimate> estimates);

// Indices of frames in which the hips stand high above the ankles (93 % of the 95th percentile).
std::vector<std::size_t> standing_frames_of(const ClipObservation& clip);

// Mid-ankle to mid-knee to mid-hip to mid-shoulder, median over the frames [px].
double standing_chain_px(const ClipObservation& clip, std::span<const std::size_t> frames);
// The same chain in the body [m]; standard error from the lengths and the landmarks' placement.
Estimate standing_chain(const body::SegmentLengths& lengths);

// Turn of the viewing line off a side view [rad], positive towards the athlete's front, within
// +-pi/2: sin(turn) = (x of left - x of right) / breadth, from shoulders and hips. It is the angle
// to the line of sight; add side * atan(u / focal) for the camera's axis.
Estimate turn_from_breadths(const ClipObservation& clip, std::span<const std::size_t> frames,
                            const std::optional<body::SegmentLengths>& lengths, double roll);

// What the shape of the disc says. A disc square to the bar, seen `sight` off the camera's axis,
// has width / height = cos(angle) / cos(sight), angle = its axis against the line of sight.
struct DiscTurn {
  Estimate angle;    // [rad] magnitude; standard_error infinity without a disc
  double sight = 0;  // [rad] from the camera's axis to the disc, right in the picture positive
};
// Width and height are second moments of the ellipses along and across the upright direction, so
// that noise of the axes and of their direction averages out.
DiscTurn turn_from_disc(const ClipObservation& clip, double roll, double focal_px);

// Roll [rad], clockwise: standing body as a plumb line, bar path, feet in a front view.
Estimate roll_from_scene(const ClipObservation& clip, std::span<const std::size_t> frames,
                         double facing, bool front, double disc_radius);

// Half the height of the disc [px], which a turn does not change; weighted over frames, outliers
// left out; error infinity without a disc.
Estimate disc_half_height_px(const ClipObservation& clip, double roll);

double median_of(std::vector<double> values);  // NaN if empty

}  // namespace lintel::kinematics
