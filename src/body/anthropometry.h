// Segment lengths of an adult from stature and sex, with their spread.
#pragma once

#include "base/result.h"
#include "body/athlete.h"
#include "body/segments.h"

namespace lintel::body {

// length = slope * stature + intercept of data/anthropometry/segment-lengths.csv (Drillis & Contini
// 1966 between joint centres; ANSUR II regressions by sex where the landmarks are the same), each
// with the residual SD of the ANSUR II regression as its standard error; HeelToAnkle follows the
// foot. Measured lengths replace estimates; a measured standard error of 0 becomes the default of
// data/mobility/limits.csv (segment.measured_error). stature [m]. Residuals of different segments
// are taken as independent. Errors: Invalid with the field and its allowed range.
Result<SegmentLengths> estimate_segments(Sex sex, double stature,
                                         const MeasuredLengths& measured = {});

}  // namespace lintel::body
