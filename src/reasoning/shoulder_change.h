// What the arms are asked for on the way down, and what a short latissimus does to it.
#pragma once

#include <optional>

#include "reasoning/factors.h"

namespace lintel::reasoning {

// Angles of the arm against the trunk's upper part [rad], arms upright, elbows locked.
struct ShoulderChange {
  double demanded_standing = 0.0;        // pi: in line
  double demanded_bottom = 0.0;          // pi + thorax inclination at the bottom
  double lumbar_flexion = 0.0;           // at the bottom
  double allowed_standing = 0.0;         // at the grip of today, neutral spine
  double allowed_bottom = 0.0;           // with the latissimus lengthened by the lumbar flexion
  double allowed_bottom_by_joint = 0.0;  // as if there were no latissimus
  // Change of the arm angle from standing to bottom that cannot be given, negative = the arm gives
  // way (compare kinematics: Repetition::shoulder_change_given).
  double expected_change = 0.0;
  double expected_change_by_latissimus = 0.0;  // the part that goes if the latissimus is no stop
};

// lean: observed trunk inclination; without it that of the most upright posture. The spine bends as
// in the most upright posture. Errors: those of Model::create.
Result<ShoulderChange> compute_shoulder_change(const posture::BodyParameters& body,
                                               const body::Setup& today,
                                               const posture::Limits& limits,
                                               std::optional<double> lean);

}  // namespace lintel::reasoning
