// Which mobility test informs which limit of the model, and what one result alone says about it.
#pragma once

#include <optional>
#include <span>

#include "body/athlete.h"
#include "posture/limits.h"

namespace lintel::reasoning {

struct TestOfLimit {
  body::MobilityTest test;
  posture::Limit limit;
};
// Tests of the limits that belong to a part of the lean, and of the knee. Where two inform one
// limit the one comes first that the model takes (posture/limits.h).
std::span<const TestOfLimit> tests_of_limits();

// The range that this result on one side stands for, by the conversions of the model [rad]; a
// standard error of 0 in the result means the default of the test. Errors: Invalid.
Result<Estimate> range_of_result(const body::Athlete& athlete, const TestOfLimit& test,
                                 const Estimate& result, const body::SegmentLengths& lengths);

// The result that stands for this range, clamped to what may be entered [rad, m].
double result_of_range(const TestOfLimit& test, double range, const body::SegmentLengths& lengths);

// Default standard error of the test as entered [rad, m]: data/mobility/limits.csv.
double default_error(body::MobilityTest test);

}  // namespace lintel::reasoning
