// What is known about an athlete and a camera before the clip is looked at.
#pragma once

#include "app/measure.h"
#include "fitting/fit.h"

namespace lintel::app {

// Segment lengths of the athlete, or of usual proportions at `stature` [m] with a wider spread.
Result<body::SegmentLengths> segment_lengths(const MeasureRequest& request);

fitting::FitPriors fit_priors(const MeasureRequest& request, const body::SegmentLengths& lengths,
                              const kinematics::CameraFinding& camera, bool disc_seen,
                              int long_side_px);

}  // namespace lintel::app
