// Which side of the athlete faces the camera, and where the network mixed the sides up.
#pragma once

#include <vector>

#include "kinematics/observation.h"

namespace lintel::pose {

struct SideCheck {
  kinematics::BodySide near_side = kinematics::BodySide::Right;
  bool decided = false;       // false in a front or back view: both sides are as near
  float agreement = 0;        // 0..1, how one-sided the vote was
  std::vector<bool> swapped;  // one a frame; all false when not decided
};

// The side whose hip has the smaller depth, voted over all frames with each frame's difference as
// its weight. A frame is swapped when hips and knees both have the order of depth reversed by more
// than a tenth of the trunk's length.
SideCheck check_sides(const kinematics::ClipObservation& clip);

// Exchanges left and right of one frame.
void exchange_sides(kinematics::BodyObservation& body);

// Exchanges them in every frame that the check found swapped; returns how many.
int mend_swapped_sides(kinematics::ClipObservation& clip, const SideCheck& check);

}  // namespace lintel::pose
