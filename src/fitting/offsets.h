// Where landmarks sit against joint centres: what is known before looking.
#pragma once

#include <array>

#include "fitting/fit.h"

namespace lintel::fitting {

// SDs [m] of a landmark's offset in each of the two directions of the segment that carries it
// (model.h). Standing part: `shared` by near and far, and the side's own. Part that grows with knee
// flexion: `flexion_shared`, and the side's own on top. All about zero.
struct OffsetPrior {
  double shared, own_near, own_far;
  double flexion_shared, flexion_near, flexion_far;
};

// SDs are multiplied by FitOptions::offset_scale.
//
// Near side: refined landmarks of rendered figures sat 1 to 3 cm off the projected joints, most of
// it the same standing and bent; tighter SDs than that, because lengths and closure carry the rest
// (chosen on the rendered clips, see docs/fit.md). The knee may move most when it bends. Far leg:
// the network draws it towards the near one by 3 to 5 cm, which without this freedom would be read
// as a narrow stance and, through perspective, as a knee too low. 2 cm is the middle between the
// rendered clips, which want 3, and people whose legs differ (docs/fit.md).
inline OffsetPrior offset_prior(FittedLandmark landmark) {
  switch (landmark) {
    case FittedLandmark::Shoulder:
      return {0.0035, 0.0025, 0.008, 0.007, 0.005, 0.016};
    case FittedLandmark::Elbow:
    case FittedLandmark::Wrist:
      return {0.006, 0.004, 0.008, 0.010, 0.010, 0.030};
    case FittedLandmark::Hip:
      return {0.004, 0.003, 0.008, 0.010, 0.006, 0.020};
    case FittedLandmark::Knee:
      return {0.005, 0.0035, 0.020, 0.025, 0.010, 0.040};
    case FittedLandmark::Ankle:
      return {0.005, 0.0035, 0.020, 0.010, 0.006, 0.020};
    case FittedLandmark::Heel:
    case FittedLandmark::Toe:
      break;
  }
  return {0.0075, 0.005, 0.030, 0.008, 0.008, 0.024};
}

}  // namespace lintel::fitting
