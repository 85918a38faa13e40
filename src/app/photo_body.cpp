#include "app/photo_body.h"

#include "kinematics/landmarks.h"
#include "pose/side_check.h"

namespace lintel::app {

Result<std::optional<PhotoBody>> find_photo_body(ObserveRequest request, const WorkContext& work) {
  request.look_for_disc = false;
  const auto seen = observe_clip(request, work);
  if (!seen) {
    if (seen.error().code == ErrorCode::NotFound && seen.error().message.starts_with("nobody")) {
      return std::optional<PhotoBody>();
    }
    return fail(seen.error());
  }
  for (const kinematics::FrameObservation& frame : seen->clip.frames) {
    if (!frame.body) continue;
    PhotoBody found{*frame.body, {}};
    for (auto& landmark : found.body.landmarks) {  // from px of the analysis
      landmark.position_px /= static_cast<float>(seen->film.scale);
      landmark.regressed_px /= static_cast<float>(seen->film.scale);
    }
    const pose::SideCheck check = pose::check_sides(seen->clip);
    if (check.decided) found.far_side = kinematics::opposite(check.near_side);
    return found;
  }
  return std::optional<PhotoBody>();
}

}  // namespace lintel::app
