// The seated half-unloaded bottom hold for one athlete: scale readings, joint moments and the
// heights of the surface over the weeks, from the athlete's own posture model. SI, radians.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "posture/posture.h"

namespace lintel::plan {

// One height of the surface, with half of the weight left on it.
struct SeatedHold {
  double surface_height = 0.0;      // above the floor [m]
  double depth = 0.0;               // hip centre below knee centre, negative above [m]
  double trunk_inclination = 0.0;   // most upright there [rad]
  double lifted_inclination = 0.0;  // to be expected after the rise, nothing on the surface [rad]
  bool possible = true;             // within the tested ranges
  double total_weight = 0.0;        // athlete, and what is in the hands, as a mass [kg]
  double on_surface = 0.0;          // target reading of a scale on the surface [kg]
  double on_feet = 0.0;             // reading of a scale under both feet [kg]
  posture::JointMoments moments;    // one leg, one arm, at the target [N m]
  posture::JointMoments lifted;     // the same with nothing left on the surface: after the rise
};

struct SurfaceRung {
  int week = 1;
  double surface_height = 0.0;     // [m]
  double depth = 0.0;              // [m]
  double trunk_inclination = 0.0;  // to be expected after the rise, ranges and habit of today [rad]
  double on_surface = 0.0;         // [kg]
  double on_feet = 0.0;            // [kg]
};

struct SeatedHoldPlan {
  double seat_share = 0.5;
  double rise = 0.0254;  // [m]
  SeatedHold now;
  double full_depth_height = 0.0;       // surface at which the hip is at the depth of the setup [m]
  double acceptable_inclination = 0.0;  // [rad]
  std::vector<SurfaceRung> ladder;      // from `now` down to full depth, never rising
  bool starts_at_full_depth = false;
  std::vector<std::string> notes;
};

struct SeatedHoldOptions {
  double seat_share = 0.0;              // of the whole weight left on the surface, [0, 0.95]
  double rise = 0.0;                    // [m]
  double bar_mass = 0.0;                // pipe [kg]
  double acceptable_inclination = 0.0;  // after the rise [rad]
  double habit = 0.0;    // what this athlete was seen to lean beyond the most upright, >= 0 [rad]
  double step = 0.0;     // heights are multiples of this [m]
  double highest = 0.0;  // [m]
  int weeks = 8;
};
// data/plan/rules.csv, seated.*
SeatedHoldOptions default_seated_hold_options();

// One height. Errors: those of Model::create.
Result<SeatedHold> compute_seated_hold(const posture::BodyParameters& body,
                                       const body::Setup& setup, const posture::Limits& limits,
                                       double surface_height, const SeatedHoldOptions& options);

// The lowest height at which the trunk, once risen, stays within the acceptable inclination and the
// tested ranges (the least inclined if there is none up to `highest`), then down in equal steps to
// full depth by the last week; a lighter week stays where the week before was. Full depth: the hip
// where the most upright squat of setup.depth has it. Errors: those of Model::create.
Result<SeatedHoldPlan> plan_seated_hold(const posture::BodyParameters& body,
                                        const body::Setup& setup, const posture::Limits& limits,
                                        const SeatedHoldOptions& options);

}  // namespace lintel::plan
