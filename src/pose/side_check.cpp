#include "pose/side_check.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace lintel::pose {
namespace {

using kinematics::BodyObservation;
using kinematics::BodySide;
using kinematics::Landmark;

// Working values of ours: a side view gives hip differences of 0.3 to 0.5 trunk lengths.
constexpr float kClearDifference = 0.1F;
constexpr float kLowestAgreement = 0.5F;

// Left minus right depth in trunk lengths: positive = the right one is nearer.
float depth_difference(const BodyObservation& body, Landmark left, Landmark right) {
  const Eigen::Vector2f shoulders =
      body[Landmark::LeftShoulder].position_px + body[Landmark::RightShoulder].position_px;
  const Eigen::Vector2f hips =
      body[Landmark::LeftHip].position_px + body[Landmark::RightHip].position_px;
  const float trunk = (shoulders - hips).norm() / 2;
  if (!(trunk > 1)) return 0;
  return std::clamp((body[left].depth_px - body[right].depth_px) / trunk, -1.0F, 1.0F);
}

}  // namespace

SideCheck check_sides(const kinematics::ClipObservation& clip) {
  SideCheck check;
  check.swapped.assign(clip.frames.size(), false);
  float sum = 0;
  float weight = 0;
  int frames = 0;
  for (const auto& frame : clip.frames) {
    if (!frame.body) continue;
    const float d = depth_difference(*frame.body, Landmark::LeftHip, Landmark::RightHip);
    sum += d;
    weight += std::abs(d);
    ++frames;
  }
  if (frames == 0 || weight <= 0) return check;
  check.near_side = sum >= 0 ? BodySide::Right : BodySide::Left;
  check.agreement = std::abs(sum) / weight;
  check.decided = check.agreement >= kLowestAgreement &&
                  weight / static_cast<float>(frames) >= kClearDifference;
  if (!check.decided) return check;
  const float sign = check.near_side == BodySide::Right ? 1.0F : -1.0F;
  for (std::size_t i = 0; i < clip.frames.size(); ++i) {
    if (!clip.frames[i].body) continue;
    const BodyObservation& body = *clip.frames[i].body;
    const float hips = sign * depth_difference(body, Landmark::LeftHip, Landmark::RightHip);
    const float knees = sign * depth_difference(body, Landmark::LeftKnee, Landmark::RightKnee);
    check.swapped[i] = hips < -kClearDifference && knees < -kClearDifference;
  }
  return check;
}

void exchange_sides(BodyObservation& body) {
  using L = Landmark;
  constexpr std::array<std::pair<L, L>, 16> kPairs = {{
      {L::LeftEyeInner, L::RightEyeInner},
      {L::LeftEye, L::RightEye},
      {L::LeftEyeOuter, L::RightEyeOuter},
      {L::LeftEar, L::RightEar},
      {L::LeftMouth, L::RightMouth},
      {L::LeftShoulder, L::RightShoulder},
      {L::LeftElbow, L::RightElbow},
      {L::LeftWrist, L::RightWrist},
      {L::LeftLittleKnuckle, L::RightLittleKnuckle},
      {L::LeftIndexKnuckle, L::RightIndexKnuckle},
      {L::LeftThumb, L::RightThumb},
      {L::LeftHip, L::RightHip},
      {L::LeftKnee, L::RightKnee},
      {L::LeftAnkle, L::RightAnkle},
      {L::LeftHeel, L::RightHeel},
      {L::LeftToe, L::RightToe},
  }};
  for (const auto& [left, right] : kPairs) std::swap(body[left], body[right]);
}

int mend_swapped_sides(kinematics::ClipObservation& clip, const SideCheck& check) {
  int count = 0;
  for (std::size_t i = 0; i < std::min(clip.frames.size(), check.swapped.size()); ++i) {
    if (!check.swapped[i] || !clip.frames[i].body) continue;
    exchange_sides(*clip.frames[i].body);
    ++count;
  }
  return count;
}

}  // namespace lintel::pose
