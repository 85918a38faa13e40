#include "kinematics/marker_view.h"

#include <algorithm>
#include <cmath>

#include <Eigen/Geometry>

namespace lintel::kinematics {
namespace {

constexpr double kMargin = 0.2;    // [m] around everything that was seen
constexpr double kLargest = 30.0;  // [m]
constexpr double kLeast = 0.02;    // [m], level distance between the hips

const std::optional<Eigen::Vector3d>& at(const MarkerBody& body, Landmark landmark) {
  return body[static_cast<std::size_t>(landmark)];
}

Result<Eigen::Vector3d> forward_of(const MarkerClip& clip) {
  Eigen::Vector3d lateral = Eigen::Vector3d::Zero();
  int frames = 0;
  for (const MarkerBody& body : clip.frames) {
    const auto& left = at(body, Landmark::LeftHip);
    const auto& right = at(body, Landmark::RightHip);
    if (!left || !right) continue;
    lateral += *left - *right;
    ++frames;
  }
  if (frames == 0) {
    return fail(ErrorCode::Invalid, "no frame has both hips",
                "name the markers of the hips, or those of the pelvis");
  }
  lateral /= frames;
  lateral -= clip.up * clip.up.dot(lateral);
  if (!(lateral.norm() > kLeast)) {
    return fail(ErrorCode::Invalid, "the hips lie above one another",
                "check which axis of the laboratory points up");
  }
  return Eigen::Vector3d(lateral.normalized().cross(clip.up));
}

struct Frame2d {
  Eigen::Vector2d least = Eigen::Vector2d::Constant(1e9);
  Eigen::Vector2d most = Eigen::Vector2d::Constant(-1e9);
};

}  // namespace

Result<ClipObservation> side_view(const MarkerClip& clip) {
  const Eigen::Vector3d forward = LINTEL_TRY(forward_of(clip));
  const auto flat = [&](const Eigen::Vector3d& p) {
    return Eigen::Vector2d(forward.dot(p), -clip.up.dot(p));
  };
  Frame2d box;
  for (const MarkerBody& body : clip.frames) {
    for (const auto& landmark : body) {
      if (!landmark) continue;
      box.least = box.least.cwiseMin(flat(*landmark));
      box.most = box.most.cwiseMax(flat(*landmark));
    }
  }
  const Eigen::Vector2d size = box.most - box.least + Eigen::Vector2d::Constant(2 * kMargin);
  if (!(size.maxCoeff() <= kLargest)) {
    return fail(ErrorCode::Limit, "the markers move over more than 30 m",
                "export the stretch in which the squat is");
  }
  const Eigen::Vector2d origin = box.least - Eigen::Vector2d::Constant(kMargin);
  ClipObservation out;
  out.width_px = static_cast<int>(std::ceil(size.x() * kMarkerViewPixelsPerMetre));
  out.height_px = static_cast<int>(std::ceil(size.y() * kMarkerViewPixelsPerMetre));
  out.nominal_rate = clip.frame_rate;
  for (std::size_t i = 0; i < clip.frames.size(); ++i) {
    FrameObservation frame;
    frame.index = static_cast<std::int64_t>(i);
    frame.time = static_cast<double>(i) / clip.frame_rate;
    BodyObservation body;
    bool any = false;
    for (std::size_t l = 0; l < kLandmarkCount; ++l) {
      if (!clip.frames[i][l]) continue;
      LandmarkObservation& seen = body.landmarks[l];
      seen.position_px =
          ((flat(*clip.frames[i][l]) - origin) * kMarkerViewPixelsPerMetre).cast<float>();
      seen.regressed_px = seen.position_px;
      seen.confidence = seen.visibility = 1;
      any = true;
    }
    body.presence = any ? 1 : 0;
    if (any) frame.body = body;
    out.frames.push_back(std::move(frame));
  }
  return out;
}

}  // namespace lintel::kinematics
