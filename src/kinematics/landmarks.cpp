#include "kinematics/landmarks.h"

#include <array>

namespace lintel::kinematics {

Landmark landmark_of(PairedLandmark joint, BodySide side) {
  static constexpr std::array<Landmark, 11> kLeft = {Landmark::LeftEar,
                                                     Landmark::LeftShoulder,
                                                     Landmark::LeftElbow,
                                                     Landmark::LeftWrist,
                                                     Landmark::LeftLittleKnuckle,
                                                     Landmark::LeftIndexKnuckle,
                                                     Landmark::LeftHip,
                                                     Landmark::LeftKnee,
                                                     Landmark::LeftAnkle,
                                                     Landmark::LeftHeel,
                                                     Landmark::LeftToe};
  // In the landmark order every right partner follows its left one.
  const auto left = static_cast<int>(kLeft[static_cast<std::size_t>(joint)]);
  return static_cast<Landmark>(side == BodySide::Left ? left : left + 1);
}

Eigen::Vector2d point_px(const BodyObservation& body, PairedLandmark joint, BodySide side) {
  return at(body, joint, side).position_px.cast<double>();
}

Eigen::Vector2d midpoint_px(const BodyObservation& body, PairedLandmark joint) {
  return 0.5 * (point_px(body, joint, BodySide::Left) + point_px(body, joint, BodySide::Right));
}

bool is_upside_down(const ClipObservation& clip) {
  int bodies = 0, inverted = 0;
  for (const FrameObservation& frame : clip.frames) {
    if (!frame.body) continue;
    const double feet = midpoint_px(*frame.body, PairedLandmark::Ankle).y();
    const double head = midpoint_px(*frame.body, PairedLandmark::Ear).y();
    const double hips = midpoint_px(*frame.body, PairedLandmark::Hip).y();
    ++bodies;
    if (head > feet && hips > feet) ++inverted;
  }
  return bodies > 0 && 2 * inverted > bodies;
}

}  // namespace lintel::kinematics
