// A first guess: camera, scale and pose from the landmarks alone, and the priors of the unknowns.
#pragma once

#include "fitting/parameters.h"

namespace lintel::fitting {

struct InitialGuess {
  FitProblem problem;  // whole clip; the window is set by the caller
  GlobalVector global{};
  std::vector<PoseVector> pose;  // per pooled frame
  bool usable = false;           // false: too few frames with hips, knees, ankles and shoulders
};

InitialGuess guess(const PooledClip& clip, const FitPriors& priors, const FitOptions& options);

// Control points through the per-frame guesses of a window.
Parameters start_parameters(const InitialGuess& guess, std::size_t begin, std::size_t end,
                            double knot_spacing);

}  // namespace lintel::fitting
