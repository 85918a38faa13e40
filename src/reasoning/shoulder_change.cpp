#include "reasoning/shoulder_change.h"

#include <algorithm>
#include <limits>
#include <numbers>

#include "reasoning/grip.h"

namespace lintel::reasoning {

Result<ShoulderChange> compute_shoulder_change(const posture::BodyParameters& body,
                                               const body::Setup& today,
                                               const posture::Limits& limits,
                                               std::optional<double> lean) {
  using posture::Limit;
  constexpr double kFree = std::numeric_limits<double>::infinity();
  posture::Limits joint_only = limits;
  joint_only[Limit::LatissimusLength].edge = kFree;
  const Evaluated bottom = LINTEL_TRY(evaluate_most_upright(body, today, limits));
  const auto at = [&](posture::Coordinate c) {
    return bottom.warm.coordinates[static_cast<std::size_t>(c)];
  };
  const double thorax = at(posture::Coordinate::PelvicTilt) +
                        at(posture::Coordinate::LumbarFlexion) -
                        at(posture::Coordinate::ThoracicExtension);
  ShoulderChange out;
  out.lumbar_flexion = std::max(0.0, at(posture::Coordinate::LumbarFlexion));
  out.demanded_standing = std::numbers::pi;
  out.demanded_bottom = std::numbers::pi + thorax + (lean ? *lean - bottom.trunk_inclination : 0.0);
  const double grip = today.grip_width;
  out.allowed_standing = allowed_elevation(body, limits, grip, 0.0);
  out.allowed_bottom = allowed_elevation(body, limits, grip, out.lumbar_flexion);
  out.allowed_bottom_by_joint = allowed_elevation(body, joint_only, grip, out.lumbar_flexion);
  const auto short_of = [](double allowed, double demanded) {
    return std::max(0.0, demanded - allowed);
  };
  const auto change = [&](double standing, double at_bottom) {
    return short_of(standing, out.demanded_standing) - short_of(at_bottom, out.demanded_bottom);
  };
  const double standing_by_joint = allowed_elevation(body, joint_only, grip, 0.0);
  out.expected_change = change(out.allowed_standing, out.allowed_bottom);
  out.expected_change_by_latissimus =
      out.expected_change - change(standing_by_joint, out.allowed_bottom_by_joint);
  return out;
}

}  // namespace lintel::reasoning
