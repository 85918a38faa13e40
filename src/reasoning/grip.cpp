#include "reasoning/grip.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>

#include "body/tables.h"
#include "reasoning/defaults.h"

namespace lintel::reasoning {
namespace {

using body::Segment;
using posture::Limit;

double arm_length(const posture::BodyParameters& body) {
  return body.lengths[Segment::UpperArm].value + body.lengths[Segment::Forearm].value +
         body.lengths[Segment::Grip].value;
}

double half_hand() {
  return body::limit_table().value("grip.hand_half_breadth");
}

// From shoulder joint to the middle of the hand, sideways, and back.
double aside_of(const posture::BodyParameters& body, double grip) {
  return 0.5 * (grip - body.lengths[Segment::InterShoulder].value) + half_hand();
}
double grip_of(const posture::BodyParameters& body, double aside) {
  return 2.0 * (aside - half_hand()) + body.lengths[Segment::InterShoulder].value;
}

double spread_of(const posture::BodyParameters& body, double grip) {
  return std::asin(std::clamp(aside_of(body, grip) / arm_length(body), 0.0, 1.0));
}

struct Bottom {
  double elevation = 0.0;
  double lumbar_flexion = 0.0;
};

// What the bottom would ask of shoulders without a limit, arms upright: lean of the posture that
// the arms do not hold up, spine bent as in the one that they do (it extends for them as far as it
// can).
Result<Bottom> bottom_of(const posture::BodyParameters& body, const body::Setup& today,
                         const posture::Limits& limits) {
  using posture::Coordinate;
  posture::Limits free = limits;
  free[Limit::ShoulderElevation].edge = std::numeric_limits<double>::infinity();
  free[Limit::LatissimusLength].edge = std::numeric_limits<double>::infinity();
  const Evaluated loose = LINTEL_TRY(evaluate_most_upright(body, today, free));
  const Evaluated held = LINTEL_TRY(evaluate_most_upright(body, today, limits));
  const auto at = [&](Coordinate c) { return held.warm.coordinates[static_cast<std::size_t>(c)]; };
  const double thorax = at(Coordinate::PelvicTilt) + at(Coordinate::LumbarFlexion) -
                        at(Coordinate::ThoracicExtension);
  return Bottom{std::numbers::pi + thorax + loose.trunk_inclination - held.trunk_inclination,
                std::max(0.0, at(Coordinate::LumbarFlexion))};
}

}  // namespace

Estimate hip_crease_grip(const posture::BodyParameters& body) {
  const body::Number& above = default_table()["grip.crease_above_hip"];
  const body::Number& ahead = default_table()["grip.crease_ahead_of_hip"];
  const Estimate& trunk = body.lengths[Segment::Trunk];
  const double arm = arm_length(body);
  const double drop = trunk.value - above.value;
  // A crease beyond the reach of the arms does not occur in people; the hands then hang straight.
  const double square = std::max(1e-4, arm * arm - drop * drop - ahead.value * ahead.value);
  const double aside = std::sqrt(square);
  const double by_arm = 2.0 * arm / aside;
  const double by_drop = 2.0 * drop / aside;
  const double by_ahead = 2.0 * ahead.value / aside;
  double variance = std::pow(body.lengths[Segment::InterShoulder].standard_error, 2.0);
  for (const Segment segment : {Segment::UpperArm, Segment::Forearm, Segment::Grip}) {
    variance += std::pow(by_arm * body.lengths[segment].standard_error, 2.0);
  }
  variance += by_drop * by_drop *
                  (trunk.standard_error * trunk.standard_error +
                   above.standard_deviation * above.standard_deviation) +
              std::pow(by_ahead * ahead.standard_deviation, 2.0);
  return {grip_of(body, aside), std::sqrt(variance)};
}

double allowed_elevation(const posture::BodyParameters& body, const posture::Limits& limits,
                         double grip_width, double lumbar_flexion) {
  const double spread = spread_of(body, grip_width);
  const posture::Couplings& c = limits.couplings;
  const double joint =
      limits[Limit::ShoulderElevation].edge + c.shoulder_per_grip_abduction * spread;
  const double latissimus = limits[Limit::LatissimusLength].edge +
                            c.latissimus_per_grip_abduction * spread -
                            c.latissimus_per_lumbar_flexion * std::max(0.0, lumbar_flexion);
  return std::min(joint, latissimus);
}

double grip_for_elevation(const posture::BodyParameters& body, const posture::Limits& limits,
                          double elevation, double lumbar_flexion, const Range& within) {
  double low = within.low;
  double high = within.high;
  const auto enough = [&](double grip) {
    return allowed_elevation(body, limits, grip, lumbar_flexion) >= elevation;
  };
  if (enough(low)) return low;
  if (!enough(high)) return high;
  for (int i = 0; i < 40; ++i) {
    const double middle = 0.5 * (low + high);
    (enough(middle) ? high : low) = middle;
  }
  return high;
}

std::string_view grip_reason_sentence(GripReason reason) {
  static constexpr std::array<std::string_view, 5> kSentences = {
      "The bar lies in the hip crease when you stand, and the shoulders get overhead and behind.",
      "Wider than the hip crease asks for: at that width the shoulders do not get far enough.",
      "Narrower than the hip crease asks for: your shoulders have much range in reserve.",
      "Your shoulders would need a wider grip than the bar or your arms allow; work on their "
      "range.",
      "The widest that this bar or your arms allow: the hip crease would ask for more."};
  return kSentences[static_cast<std::size_t>(reason)];
}

std::string_view grip_bound_sentence(GripBound bound) {
  static constexpr std::array<std::string_view, 4> kSentences = {
      "the hands would be inside the shoulders",
      "straight arms would not travel from overhead to behind",
      "the sleeves of the bar leave no room", "the arms do not reach"};
  return kSentences[static_cast<std::size_t>(bound)];
}

Result<GripAdvice> advise_grip(const posture::BodyParameters& body, const body::Setup& today,
                               const posture::Limits& limits) {
  body::Setup overhead = today;
  overhead.bar_position = body::BarPosition::Overhead;
  const Bottom bottom = LINTEL_TRY(bottom_of(body, overhead, limits));
  const auto& defaults = default_table();
  const double demand = defaults.value("grip.pass_through");
  const double most_reserve = defaults.value("grip.most_reserve");
  const double sleeves = defaults.value("grip.widest");
  const double arms = grip_of(body, 0.93 * arm_length(body));
  const double shoulders = grip_of(body, 0.0) + 0.01;
  GripAdvice advice;
  advice.hip_crease = hip_crease_grip(body);
  advice.demanded_elevation = demand;
  const Range reach{shoulders, std::min(sleeves, arms)};
  advice.wide_because = sleeves <= arms ? GripBound::Sleeves : GripBound::Arms;
  const double needed = grip_for_elevation(body, limits, demand, 0.0, reach);
  advice.bounds = {needed, reach.high};
  advice.narrow_because =
      needed <= shoulders + 1e-9 ? GripBound::ShoulderWidth : GripBound::PassThrough;
  const auto reserve = [&](double grip) {
    return allowed_elevation(body, limits, grip, 0.0) - demand;
  };
  const double crease = std::clamp(advice.hip_crease.value, reach.low, reach.high);
  advice.reserve_at_crease = reserve(crease);
  advice.recommended = crease;
  if (advice.hip_crease.value > reach.high) advice.reason = GripReason::BarTooShort;
  if (advice.reserve_at_crease < 0.0) {
    advice.recommended = needed;
    advice.reason =
        reserve(needed) < -1e-6 ? GripReason::WidestReached : GripReason::ShoulderNeedsRoom;
  } else if (advice.reserve_at_crease > most_reserve) {
    advice.recommended =
        grip_for_elevation(body, limits, demand + most_reserve, 0.0, {reach.low, crease});
    advice.reason = GripReason::ShoulderHasRoom;
  }
  const double pass = demand - 1e-6;
  advice.reserve_at_recommended = reserve(advice.recommended);
  advice.reserve_at_today = reserve(today.grip_width);
  advice.bottom_elevation = bottom.elevation;
  advice.bottom_reserve =
      allowed_elevation(body, limits, advice.recommended, bottom.lumbar_flexion) - bottom.elevation;
  advice.pass_through = allowed_elevation(body, limits, advice.recommended, 0.0) >= pass;
  advice.pass_through_today = allowed_elevation(body, limits, today.grip_width, 0.0) >= pass;
  advice.leaves_hip_crease =
      std::abs(advice.recommended - advice.hip_crease.value) > defaults.value("grip.agreement");
  return advice;
}

}  // namespace lintel::reasoning
