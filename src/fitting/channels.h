// From pose and globals to what is reported, templated so that errors can be propagated.
#pragma once

#include "fitting/model.h"

namespace lintel::fitting {

// After the channels of measurement.h: angles in space of the near side, and the knee's spread.
enum ExtraChannel : int {
  kThigh3d = kinematics::kChannelCount,
  kKnee3d,
  kHip3d,
  kKneeSpread,
  kReportedCount
};

// Angle between two vectors in [0, pi]; smooth away from the ends.
template <typename T>
T angle_between(const Vector3<T>& a, const Vector3<T>& b) {
  using std::atan2;
  const Vector3<T> cross{T(a.y() * b.z() - a.z() * b.y()), T(a.z() * b.x() - a.x() * b.z()),
                         T(a.x() * b.y() - a.y() * b.x())};
  const T sine =
      smooth_sqrt(T(cross.x() * cross.x() + cross.y() * cross.y() + cross.z() * cross.z()));
  return atan2(sine, T(a.x() * b.x() + a.y() * b.y() + a.z() * b.z()));
}

// All reported values of one instant. Heights above the floor, forward distances from mid-foot,
// both without the feet's creep. Without masses the centre of mass is 0 and must be dropped.
template <typename T>
void report_channels(const T* q, const T* g, const ModelConstants& constants,
                     const MassModel* masses, T* out) {
  using kinematics::Channel;
  using std::atan2;
  using std::floor;
  Chain<T> chain(q, g, constants);
  chain.place_all();
  const auto set = [&](Channel channel, const T& value) { out[static_cast<int>(channel)] = value; };
  const Vector2<T> bar = chain.bar();
  T arm = atan2(T(bar.x() - chain.shoulder.x()), T(bar.y() - chain.shoulder.y()));
  // Hanging arms swing through pi: keep one branch, -pi/2 .. 3 pi/2.
  if (arm < -1.5707963267948966) arm += 6.283185307179586;
  set(Channel::TrunkInclination, q[kTrunk]);
  const Vector3<T> thigh = chain.hip - chain.knee;
  const Vector3<T> shank = chain.knee - chain.ankle;
  const T thigh_inclination = atan2(T(-thigh.x()), thigh.y());
  const T shank_inclination = atan2(shank.x(), shank.y());
  set(Channel::ThighInclination, thigh_inclination);
  set(Channel::ShankInclination, shank_inclination);
  set(Channel::FootInclination, q[kFootPitch]);
  set(Channel::ArmInclination, arm);
  set(Channel::AnkleDorsiflexion, T(shank_inclination - q[kFootPitch]));
  set(Channel::KneeFlexion, T(shank_inclination + thigh_inclination));
  set(Channel::HipFlexion, T(thigh_inclination + q[kTrunk]));
  set(Channel::ShoulderElevation, T(3.141592653589793 + q[kTrunk] - arm));
  set(Channel::ElbowFlexion, q[kElbow]);
  set(Channel::HeelLift, T(chain.heel.y() - q[kDriftY] - kHeelLandmarkHeight));
  set(Channel::Depth, T(chain.knee.y() - chain.hip.y()));
  set(Channel::HipHeight, T(chain.hip.y() - q[kDriftY]));
  const T middle = chain.mid_foot();
  set(Channel::BarX, T(bar.x() - middle));
  set(Channel::BarY, T(bar.y() - q[kDriftY]));
  Vector2<T> center{T(middle), T(q[kDriftY])};
  if (masses != nullptr) center = center_of_mass(chain, q, *masses, constants);
  set(Channel::CenterOfMassX, T(center.x() - middle));
  set(Channel::CenterOfMassY, T(center.y() - q[kDriftY]));
  const Vector3<T> trunk{T(chain.shoulder.x() - chain.hip.x()),
                         T(chain.shoulder.y() - chain.hip.y()), T(0.0)};
  const Vector3<T> up{T(0.0), T(1.0), T(0.0)};
  out[kThigh3d] = angle_between(thigh, up);
  out[kKnee3d] = angle_between(thigh, shank);
  out[kHip3d] = angle_between(thigh, trunk);
  out[kKneeSpread] = chain.knee.z();
}

}  // namespace lintel::fitting
