#include "app/body_scale.h"

#include <algorithm>

#include "kinematics/landmarks.h"

namespace lintel::app {
namespace {

using kinematics::BodySide;
using kinematics::PairedLandmark;

// Legs and trunk along the joints, in statures: 0.246 + 0.245 + 0.288 (Drillis and Contini 1966).
constexpr double kChainShare = 0.779;
// The near disc is about 0.7 m nearer to a camera some five metres away.
constexpr double kNearDiscMagnification = 1.14;

}  // namespace

BodyScale::BodyScale(double stature) : chain_length_(kChainShare * stature) {}

void BodyScale::update(const kinematics::BodyObservation& body) {
  double longest = 0;
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    const auto p = [&](PairedLandmark joint) { return kinematics::point_px(body, joint, side); };
    const double chain = (p(PairedLandmark::Ankle) - p(PairedLandmark::Knee)).norm() +
                         (p(PairedLandmark::Knee) - p(PairedLandmark::Hip)).norm() +
                         (p(PairedLandmark::Hip) - p(PairedLandmark::Shoulder)).norm();
    longest = std::max(longest, chain);
  }
  chain_px_ = std::max(longest, 0.995 * chain_px_);
}

bar::DiscHint disc_hint(const kinematics::BodyObservation& body, const BodyScale& scale,
                        double disc_diameter) {
  bar::DiscHint hint;
  hint.shoulder_px = kinematics::midpoint_px(body, PairedLandmark::Shoulder);
  hint.hip_px = kinematics::midpoint_px(body, PairedLandmark::Hip);
  hint.wrist_px[0] = kinematics::point_px(body, PairedLandmark::Wrist, BodySide::Left);
  hint.wrist_px[1] = kinematics::point_px(body, PairedLandmark::Wrist, BodySide::Right);
  hint.expected_radius_px = 0.5 * disc_diameter * scale.pixels_per_metre() * kNearDiscMagnification;
  return hint;
}

}  // namespace lintel::app
