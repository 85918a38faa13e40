// What explains the lean that was seen: the posture model of this athlete against the measurement.
#pragma once

#include "base/progress.h"
#include "base/result.h"
#include "body/athlete.h"
#include "kinematics/measurement.h"
#include "view/explanation.h"

namespace lintel::app {

// The mean over completed repetitions at the bottom is explained. Without an athlete file (stature
// not known) or without a repetition the explanation says what is missing. Errors: Cancelled;
// Invalid when the athlete's own numbers contradict one another.
Result<view::Explanation> explain_measurement(const body::Athlete& athlete, bool stature_known,
                                              const kinematics::Measurement& measurement,
                                              const WorkContext& work);

}  // namespace lintel::app
