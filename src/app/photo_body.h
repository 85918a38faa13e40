// The one body of a photograph.
#pragma once

#include <optional>

#include "app/observe.h"
#include "base/progress.h"
#include "base/result.h"
#include "kinematics/observation.h"

namespace lintel::app {

struct PhotoBody {
  kinematics::BodyObservation body;  // px of the upright picture in its full size
  // Seen from the side, the side that is turned away from the camera.
  std::optional<kinematics::BodySide> far_side;
};

// `request.clip` is the picture; no disc is looked for. Nothing when nobody is found. Errors: those
// of observe_clip().
Result<std::optional<PhotoBody>> find_photo_body(ObserveRequest request, const WorkContext& work);

}  // namespace lintel::app
