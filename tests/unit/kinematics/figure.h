// A stick figure in space and a virtual camera that films it: truth for the kinematics tests.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <numbers>
#include <optional>
#include <vector>

#include <Eigen/Core>

#include "body/segments.h"
#include "kinematics/landmarks.h"
#include "kinematics/observation.h"
#include "kinematics/pinhole.h"

namespace lintel::testing {

// World W: X forward, Y up, Z to the athlete's right [m].
struct Figure3d {
  std::array<Eigen::Vector3d, kinematics::kLandmarkCount> landmark;
  std::optional<Eigen::Vector3d> bar;  // centre of the bar
  Eigen::Vector3d& operator[](kinematics::Landmark l) {
    return landmark[static_cast<std::size_t>(l)];
  }
  const Eigen::Vector3d& operator[](kinematics::Landmark l) const {
    return landmark[static_cast<std::size_t>(l)];
  }
};

// Lengths of an invented athlete [m].
struct FigureLengths {
  double shank = 0.41, thigh = 0.42, trunk = 0.50, upper_arm = 0.30, forearm = 0.26;
  double foot = 0.26, ankle_height = 0.07, inter_hip = 0.18, inter_shoulder = 0.35;
};
body::SegmentLengths segment_lengths(const FigureLengths& lengths, double relative_error);

// Inclinations as in docs/notation.md [rad].
struct FigurePose {
  double shank = 0, thigh = 0, trunk = 0, arm = 0;
  double stance = 0.36;  // between the ankles [m]
  double toe_out = 0;    // feet and knees point outwards by this
  double grip = 0.9;     // between the hands [m]
  double hip_shift = 0;  // to the athlete's right [m]
};
Figure3d make_figure(const FigurePose& pose, const FigureLengths& lengths = {});
// A squat: 0 = standing, 1 = at the bottom.
FigurePose squat_pose(double depth);

struct Film {
  kinematics::PinholeCamera<double> camera;
  int width_px = 1920;
  int height_px = 1080;
  double white_noise = 0;  // sd of each coordinate of a landmark [m]
  double drift = 0;        // amplitude of a slow wander of each landmark [m]
  std::uint64_t seed = 1;
  double disc_radius = 0.225;       // [m]; 0 = no disc
  double disc_plane_offset = 0.70;  // [m] from the mid-plane towards the camera
  double disc_noise_px = 0;
};
kinematics::ClipObservation film(const std::vector<double>& time,
                                 const std::vector<Figure3d>& figures, const Film& settings);

// Uniform frames over a duration, the depth from a function of time.
std::vector<double> frame_times(double duration, double rate);
std::vector<Figure3d> figures_of(const std::vector<double>& time,
                                 const std::function<double(double)>& depth,
                                 const std::function<void(FigurePose&)>& change = {},
                                 const FigureLengths& lengths = {});

inline double deg(double degrees) {
  return degrees * std::numbers::pi / 180.0;
}

}  // namespace lintel::testing
