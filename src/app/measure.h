// Points become a measured squat: camera check, skeleton fit, filters, repetitions.
#pragma once

#include <optional>
#include <vector>

#include "app/observe.h"
#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"
#include "body/athlete.h"
#include "fitting/fit.h"
#include "kinematics/camera_check.h"
#include "kinematics/corrections.h"
#include "kinematics/front_view.h"
#include "kinematics/measurement.h"

namespace lintel::app {

struct MeasureRequest {
  std::optional<body::Athlete> athlete;  // empty = usual proportions of an adult
  bool stature_known = false;            // from the athlete file
  std::optional<Angle> vertical_roll;    // clockwise turn of the true vertical in the picture
  std::optional<double> focal_px;        // of the analysis picture
  double disc_diameter = 0.450;          // [m]
  // Put elsewhere by a person (the points themselves are moved in the observation: corrected()).
  std::vector<kinematics::ShiftedEvent> shifted_events;
  std::size_t points_by_hand = 0;
};

// Exactly one of side and front is set.
struct Measured {
  kinematics::CameraFinding camera;
  std::optional<kinematics::Measurement> side;
  std::optional<kinematics::FrontFinding> front;
  std::optional<fitting::FitResult> fit;  // of the side view
};

// Errors: Unsupported when the camera is turned too far off (says by how much and how to film),
// Invalid when the clip shows no body long enough, Cancelled.
Result<Measured> measure_observation(const Observation& observation, const MeasureRequest& request,
                                     const WorkContext& work);

// Remarks on the film that are not about the camera: light, frame rate, people, lost body.
std::vector<kinematics::Warning> film_warnings(const Observation& observation);

}  // namespace lintel::app
