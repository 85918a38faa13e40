// Where to hold the bar: the hip crease standing, the shoulder overhead, the way from one to the
// other. All widths between the index knuckles [m].
#pragma once

#include <cstdint>
#include <string_view>

#include "reasoning/factors.h"

namespace lintel::reasoning {

// Width at which the bar lies in the hip crease of the athlete who stands with straight arms:
// arm^2 = aside^2 + drop^2 + ahead^2 with drop = trunk - crease above hip, aside from shoulder
// joint to the middle of the hand. Crease: data/reasoning/defaults.csv, grip.crease_*; standard
// error from those and from the lengths (first order).
Estimate hip_crease_grip(const posture::BodyParameters& body);

// Sagittal shoulder elevation that these limits allow at a grip [rad]: the joint and the latissimus
// each gain by the spread of the arms; the smaller counts. lumbar_flexion [rad] takes from the
// second.
double allowed_elevation(const posture::BodyParameters& body, const posture::Limits& limits,
                         double grip_width, double lumbar_flexion);
// The grip at which the allowed elevation is `elevation`; clamped to `within`.
double grip_for_elevation(const posture::BodyParameters& body, const posture::Limits& limits,
                          double elevation, double lumbar_flexion, const Range& within);

enum class GripReason : std::uint8_t {
  HipCrease,          // the bar lies in the hip crease and the shoulders suffice
  ShoulderNeedsRoom,  // wider: at the crease width the arms do not get overhead or behind
  ShoulderHasRoom,    // narrower: much range in reserve
  WidestReached,      // wider would be needed than the bar or the arms allow
  BarTooShort,        // the crease width itself is wider than that
};
enum class GripBound : std::uint8_t { ShoulderWidth, PassThrough, Sleeves, Arms };
std::string_view grip_reason_sentence(GripReason reason);
std::string_view grip_bound_sentence(GripBound bound);

struct GripAdvice {
  double recommended = 0.0;
  GripReason reason = GripReason::HipCrease;
  Estimate hip_crease;
  Range bounds;
  GripBound narrow_because = GripBound::ShoulderWidth;
  GripBound wide_because = GripBound::Sleeves;
  double demanded_elevation = 0.0;  // for the pass-through [rad]
  double reserve_at_crease = 0.0;   // allowed less demanded at the crease width [rad]
  double reserve_at_recommended = 0.0;
  double reserve_at_today = 0.0;
  // At today's bottom, arms upright: what the lean asks and what the recommended width gives [rad].
  double bottom_elevation = 0.0;
  double bottom_reserve = 0.0;
  bool pass_through = false;  // at the recommended width
  bool pass_through_today = false;
  bool leaves_hip_crease = false;  // the snatch warning: recommended is off the crease
};
// Demand: the pass-through (grip.pass_through). What the bottom asks is told beside it and does not
// move the grip: it falls with the lean, which is mended first. Stays at the crease width while the
// reserve there is between 0 and grip.most_reserve; otherwise moves until it is again. Errors:
// those of Model::create.
Result<GripAdvice> advise_grip(const posture::BodyParameters& body, const body::Setup& today,
                               const posture::Limits& limits);

}  // namespace lintel::reasoning
