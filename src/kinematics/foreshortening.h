// A thigh or shank that leaves the sagittal plane looks shorter from the side, and its sagittal
// inclination is then not its inclination. Tells when, by how much, and what is true in space.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include <Eigen/Core>

#include "kinematics/measurement.h"

namespace lintel::kinematics {

// Warned when the sagittal inclination is this far [rad] from the one in space (squats of ordinary
// width differ by up to 12 degrees: motion capture, trial 13_29 of mocap.cs.cmu.edu), or when less
// than this share of the thigh is left to measure from (beyond 57 degrees out of plane).
inline constexpr double kForeshorteningErrorWarned = 17.0 * kRadiansPerDegree;
inline constexpr double kForeshorteningRatioWarned = 0.55;

// One leg seen from the side, near side, sagittal frame (X forward, Y up), any one length unit.
struct SideLeg {
  Eigen::Vector2d p_hip;
  Eigen::Vector2d p_knee;
  Eigen::Vector2d p_ankle;
};
// True lengths in the same unit, with errors.
struct LegLengths {
  Estimate thigh;
  Estimate shank;
};

struct Foreshortening {
  Estimate thigh_ratio;  // seen length / true length, at most 1
  Estimate shank_ratio;
  Estimate thigh_out_of_plane;       // [rad] angle between the thigh and the sagittal plane
  Estimate shank_out_of_plane;       // [rad]
  double thigh_sagittal = 0;         // [rad] inclination as seen, knee to hip, backward positive
  Estimate thigh_in_space;           // [rad] angle from vertical in space: acos(rise / true length)
  double knee_flexion_sagittal = 0;  // [rad]
  Estimate knee_flexion_in_space;  // [rad] thigh out, shank in: both on the outer side of the line
  bool warned = false;
};

// True lengths [unit of the legs] from standing legs: the 90th percentile of the seen lengths (a
// standing leg is nearly in plane), error from their spread.
LegLengths leg_lengths_from_standing(std::span<const SideLeg> standing);
// The same from body lengths and scale; the error of both propagated.
LegLengths leg_lengths_from_body(const Estimate& thigh, const Estimate& shank,
                                 const Estimate& pixels_per_metre);

// Where the camera stands, in the leg's unit and frame: a knee that points at the camera is nearer
// to it than hip and ankle and looks further from the picture's middle (5 to 9 degrees of thigh
// inclination in a wide squat seen from 5 m).
struct LegPerspective {
  Eigen::Vector2d p_middle;  // the picture's middle (principal point)
  double distance = 0;       // camera to the near hip
};

// point_standard_error: of each coordinate of hip, knee and ankle, same unit.
Foreshortening assess_foreshortening(const SideLeg& bottom, const LegLengths& lengths,
                                     double point_standard_error,
                                     const std::optional<LegPerspective>& perspective = {});

// The remark for the user, if it is warned.
std::optional<Warning> foreshortening_warning(const Foreshortening& foreshortening);

}  // namespace lintel::kinematics
