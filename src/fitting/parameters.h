// Everything the solver moves, and what it is pulled to.
#pragma once

#include <array>
#include <vector>

#include "fitting/clip.h"
#include "fitting/curve.h"
#include "fitting/model.h"

namespace lintel::fitting {

inline constexpr int kInstanceCount = 2 * kFittedLandmarkCount;  // near landmarks, then far ones
constexpr int instance_of(int side, int landmark) {
  return side * kFittedLandmarkCount + landmark;
}

using PoseVector = std::array<double, kPoseSize>;
using GlobalVector = std::array<double, kGlobalSize>;
using OffsetVector = std::array<double, kOffsetSize>;

struct Parameters {
  KnotGrid grid;
  std::vector<PoseVector> control;  // grid.control_points of them
  GlobalVector global{};
  std::array<OffsetVector, kInstanceCount> offset{};

  PoseVector pose(double time) const;
  PoseVector pose_rate(double time) const;
};

// SDs of the motion at each control point, for a spacing of 0.1 s.
struct MotionPrior {
  PoseVector acceleration{};  // [1/s^2]
  PoseVector rate{};          // [1/s]
  PoseVector mean{};
  PoseVector deviation{};
};

struct FitProblem {
  const PooledClip* clip = nullptr;
  std::size_t begin = 0, end = 0;  // pooled frames of this window
  ModelConstants constants;
  const MassModel* masses = nullptr;
  FitOptions options;
  GlobalVector global_mean{};
  GlobalVector global_deviation{};
  MotionPrior motion;
  std::array<bool, kInstanceCount> used{};
  std::array<double, kInstanceCount> noise{};  // [m]
  double pixels_per_metre = 1;
};

// Noise variance of one frame is multiplied by this so that frames may be treated as independent:
// sum of the autocorrelation of an AR(1) error, (1 + rho) / (1 - rho), rho = exp(-spacing / time).
double correlation_inflation(double spacing, double correlation_time);

// SD of a landmark [px] at its confidence.
double landmark_deviation_px(const FitProblem& problem, int instance, double confidence);

}  // namespace lintel::fitting
