// Sagittal angles from points of the sagittal plane (X forward, Y up); see docs/notation.md.
// Any length unit; results in radians. Templated on the scalar so that automatic derivatives
// pass through. Coinciding points give atan2(0, 0) = 0, whose derivative is not defined.
#pragma once

#include <cmath>
#include <numbers>

#include <Eigen/Core>

namespace lintel::kinematics {

template <typename T>
using Vector2 = Eigen::Matrix<T, 2, 1>;

// The same angle in [low, low + 2 pi), for an angle within one turn of that range (as sums of two
// arc tangents are). By comparison, not floor, which not every scalar with derivatives has.
template <typename T>
T wrapped_from(T angle, double low) {
  constexpr double kTurn = 2.0 * std::numbers::pi;
  if (angle < T(low)) return T(angle + T(kTurn));
  if (angle >= T(low + kTurn)) return T(angle - T(kTurn));
  return angle;
}

// Direction of a segment from its lower point to its upper point against vertical, forward
// positive, in (-pi, pi].
template <typename T>
T inclination_forward(const Vector2<T>& p_lower, const Vector2<T>& p_upper) {
  using std::atan2;
  return atan2(T(p_upper.x() - p_lower.x()), T(p_upper.y() - p_lower.y()));
}

// Mid-hip to mid-shoulder from vertical, forward positive.
template <typename T>
T trunk_inclination(const Vector2<T>& p_hip, const Vector2<T>& p_shoulder) {
  return inclination_forward(p_hip, p_shoulder);
}

// Ankle to knee from vertical, forward positive.
template <typename T>
T shank_inclination(const Vector2<T>& p_ankle, const Vector2<T>& p_knee) {
  return inclination_forward(p_ankle, p_knee);
}

// Knee to hip from vertical, backward positive; pi/2 = level. In [-pi/2, 3 pi/2).
template <typename T>
T thigh_inclination(const Vector2<T>& p_knee, const Vector2<T>& p_hip) {
  return wrapped_from(T(-inclination_forward(p_knee, p_hip)), -std::numbers::pi / 2.0);
}

// Heel to toe against the floor, heel up positive. The landmarks' line is tilted against the sole:
// take the standing value off (argument, same definition).
template <typename T>
T foot_inclination(const Vector2<T>& p_heel, const Vector2<T>& p_toe, double standing = 0.0) {
  using std::atan2;
  return atan2(T(p_heel.y() - p_toe.y()), T(p_toe.x() - p_heel.x())) - T(standing);
}

// Shoulder to bar (or wrist) from vertical, forward positive; 0 = straight up, pi = hanging.
// In [-pi/2, 3 pi/2).
template <typename T>
T arm_inclination(const Vector2<T>& p_shoulder, const Vector2<T>& p_bar) {
  return wrapped_from(inclination_forward(p_shoulder, p_bar), -std::numbers::pi / 2.0);
}

// From inclinations. shank - foot: how far the ankle is bent beyond a right angle to the sole.
template <typename T>
T ankle_dorsiflexion(T shank, T foot) {
  return shank - foot;
}
// 0 = straight: thigh (backward) and shank (forward) open the knee between them.
template <typename T>
T knee_flexion(T thigh, T shank) {
  return thigh + shank;
}
// 0 = trunk and thigh in line.
template <typename T>
T hip_flexion(T trunk, T thigh) {
  return trunk + thigh;
}
// Arm against trunk: 0 = hanging beside it, pi = in line overhead, more = behind the trunk line.
template <typename T>
T shoulder_elevation(T trunk, T arm) {
  return T(std::numbers::pi) + trunk - arm;
}
// Forearm against upper arm, 0 = straight, positive with the hand in front of the upper arm's
// line when the arm hangs. In [-pi/2, 3 pi/2).
template <typename T>
T elbow_flexion(const Vector2<T>& p_shoulder, const Vector2<T>& p_elbow,
                const Vector2<T>& p_wrist) {
  const T upper = inclination_forward(p_shoulder, p_elbow);
  const T lower = inclination_forward(p_elbow, p_wrist);
  return wrapped_from(T(upper - lower), -std::numbers::pi / 2.0);
}

// Angle between three points of the plane or of space, unsigned, in [0, pi]: 0 = straight at b.
template <typename A, typename B, typename C>
typename A::Scalar flexion_at(const Eigen::MatrixBase<A>& a, const Eigen::MatrixBase<B>& b,
                              const Eigen::MatrixBase<C>& c) {
  using std::acos;
  using T = typename A::Scalar;
  const auto u = (b - a).eval();
  const auto v = (c - b).eval();
  T cosine = u.dot(v) / (u.norm() * v.norm());
  if (cosine > T(1.0)) cosine = T(1.0);
  if (cosine < T(-1.0)) cosine = T(-1.0);
  return acos(cosine);
}

}  // namespace lintel::kinematics
