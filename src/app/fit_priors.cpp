#include "app/fit_priors.h"

#include <algorithm>
#include <cmath>

#include "body/anthropometry.h"
#include "body/body_segments.h"

namespace lintel::app {
namespace {

// Adults of both sexes: mean and spread of stature [m] (ANSUR II, men 1.756 +/- 0.069, women
// 1.629 +/- 0.064; mixed), used when nobody said how tall the athlete is.
constexpr double kUnknownStature = 1.70;
constexpr double kUnknownStatureSpread = 0.09;

// Phone clips: main camera, stabilised, up to twofold zoom. Focal length in longer picture sides
// 0.75 (main camera) to 1.8 (zoomed): the middle of that in logarithm and half its width.
constexpr Estimate kFocalPerLongSide{1.15, 0.45};

// Lengths are of bare feet and hanging arms. A shoe's sole lifts the ankle; arms overhead lift the
// shoulder joints by the turn of the shoulder blades and collar bones (both from memory).
constexpr Estimate kShoeSole{0.018, 0.010};      // [m]
constexpr Estimate kShoulderRise{0.020, 0.025};  // [m]
// Roll of a phone on a stand or against a wall.
constexpr double kRollError = 0.8 * kRadiansPerDegree;

void widen(Estimate& length, const Estimate& added) {
  length.value += added.value;
  length.standard_error = std::hypot(length.standard_error, added.standard_error);
}

double standing_disc_plane(double disc_diameter) {
  // Half of 1310 mm between the sleeves (IWF TCRR) plus the outer face of one or two discs.
  return disc_diameter > 0 ? 0.655 + 0.055 : 0.70;
}

fitting::SegmentMass limb(body::Sex sex, body::Part part) {
  const body::PartParameters p = body::part_parameters(sex, part);
  return {2 * p.mass_fraction, p.center_of_mass};
}

fitting::MassModel mass_model(const body::Athlete& athlete) {
  using body::Part;
  const body::Sex sex = athlete.sex;
  fitting::MassModel m;
  m.body_mass = athlete.body_mass;
  m.bar_mass = athlete.setup.bar_mass;
  m.foot = limb(sex, Part::Foot);
  m.shank = limb(sex, Part::Shank);
  m.thigh = limb(sex, Part::Thigh);
  m.upper_arm = limb(sex, Part::UpperArm);
  const body::PartParameters forearm = body::part_parameters(sex, Part::Forearm);
  const body::PartParameters hand = body::part_parameters(sex, Part::Hand);
  // The hand's centre lies close to the wrist end of the forearm, a little beyond it.
  const double mass = forearm.mass_fraction + hand.mass_fraction;
  m.forearm_hand = {
      2 * mass,
      (forearm.mass_fraction * forearm.center_of_mass + hand.mass_fraction * 1.25) / mass};
  const double trunk = body::part_parameters(sex, Part::Thorax).mass_fraction +
                       body::part_parameters(sex, Part::Lumbar).mass_fraction +
                       body::part_parameters(sex, Part::Pelvis).mass_fraction;
  // de Leva 1996: whole trunk from mid-shoulder to mid-hip.
  m.trunk = {trunk, sex == body::Sex::Male ? 0.4310 : 0.3782};
  const body::PartParameters head = body::part_parameters(sex, Part::Head);
  const double below = body::trunk_division(sex).head_center_below_vertex * athlete.stature;
  const double head_neck = 0.182 * athlete.stature;  // 1 - 0.818 (Drillis and Contini 1966)
  m.head = {head.mass_fraction, std::clamp(below / head_neck, 0.2, 0.8)};
  return m;
}

fitting::BarPosition bar_position(body::BarPosition position) {
  switch (position) {
    case body::BarPosition::Overhead:
      return fitting::BarPosition::Overhead;
    case body::BarPosition::Back:
      return fitting::BarPosition::Back;
    case body::BarPosition::Front:
      return fitting::BarPosition::Front;
    case body::BarPosition::None:
      return fitting::BarPosition::None;
  }
  return fitting::BarPosition::None;
}

}  // namespace

Result<body::SegmentLengths> segment_lengths(const MeasureRequest& request) {
  if (request.athlete && request.stature_known) {
    return body::estimate_segments(request.athlete->sex, request.athlete->stature,
                                   request.athlete->measured_lengths);
  }
  body::SegmentLengths lengths =
      LINTEL_TRY(body::estimate_segments(body::Sex::Male, kUnknownStature));
  for (Estimate& length : lengths.length) {
    length.standard_error =
        std::hypot(length.standard_error, length.value * kUnknownStatureSpread / kUnknownStature);
  }
  return lengths;
}

fitting::FitPriors fit_priors(const MeasureRequest& request, const body::SegmentLengths& lengths,
                              const kinematics::CameraFinding& camera, bool disc_seen,
                              int long_side_px) {
  fitting::FitPriors priors;
  priors.lengths = lengths;
  widen(priors.lengths[body::Segment::AnkleHeight], kShoeSole);
  const bool overhead =
      request.athlete && request.athlete->setup.bar_position == body::BarPosition::Overhead;
  if (overhead) widen(priors.lengths[body::Segment::Trunk], kShoulderRise);
  if (disc_seen) {
    priors.disc_diameter = request.disc_diameter;
    priors.disc_plane_offset = {standing_disc_plane(request.disc_diameter), 0.05};
  }
  priors.facing = camera.check.facing;
  priors.near_side = camera.check.near_side;
  priors.yaw = camera.check.yaw;
  priors.yaw.standard_error =
      std::clamp(priors.yaw.standard_error, 1.0 * kRadiansPerDegree, 15 * kRadiansPerDegree);
  priors.roll.standard_error = kRollError;
  if (request.vertical_roll) {
    priors.roll = {request.vertical_roll->radians(), 0.3 * kRadiansPerDegree};
  }
  priors.focal_per_long_side = kFocalPerLongSide;
  if (request.focal_px) {
    const double focal = *request.focal_px / long_side_px;
    priors.focal_per_long_side = {focal, 0.02 * focal};
  }
  if (request.athlete) {
    const body::Athlete& athlete = *request.athlete;
    priors.bar_position = bar_position(athlete.setup.bar_position);
    priors.grip_width = Estimate{athlete.setup.grip_width, 0.05};
    priors.stance_width = {athlete.setup.stance_width, 0.025};
    priors.toe_out = {athlete.setup.toe_out, 5 * kRadiansPerDegree};
    if (athlete.body_mass > 0 && athlete.stature > 0) priors.masses = mass_model(athlete);
  }
  return priors;
}

}  // namespace lintel::app
