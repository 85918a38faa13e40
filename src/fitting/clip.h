// The clip as the fit sees it: facing right, near and far side, pooled to a bounded rate.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include <Eigen/Core>

#include "fitting/fit.h"

namespace lintel::fitting {

struct PooledLandmark {
  bool seen = false;
  Eigen::Vector2d px{0, 0};
  double confidence = 0;
  bool by_hand = false;  // put there by a person: no pooling with what the network saw
};

struct PooledDisc {
  Eigen::Vector2d center_px{0, 0};
  double sxx = 0, sxy = 0, syy = 0;  // [px^2] shape matrix of the ellipse
  double semi_major_px = 0;
  double center_error_px = 0;
  double axis_error_px = 0;
};

inline constexpr int kNear = 0;
inline constexpr int kFar = 1;

struct PooledFrame {
  double time = 0;                                                            // [s]
  std::array<std::array<PooledLandmark, kFittedLandmarkCount>, 2> landmarks;  // [near, far]
  std::optional<PooledDisc> disc;
  bool has_body = false;

  const PooledLandmark& at(int side, FittedLandmark landmark) const {
    return landmarks[static_cast<std::size_t>(side)][static_cast<std::size_t>(landmark)];
  }
};

struct PooledClip {
  int width_px = 0;
  int height_px = 0;
  bool mirrored = false;  // the picture was flipped left to right to face right
  double spacing = 0;     // [s] typical time between pooled frames
  std::vector<PooledFrame> frames;
};

// Mirrors, names sides, drops unusable points and pools. Errors: see fit_skeleton.
Result<PooledClip> pool_clip(const kinematics::ClipObservation& clip, const FitPriors& priors,
                             const FitOptions& options);

}  // namespace lintel::fitting
