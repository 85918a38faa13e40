// A small pinhole camera: used by the skeleton fit and to make test pictures.
#pragma once

#include <cmath>

#include <Eigen/Core>

#include "kinematics/observation.h"

namespace lintel::kinematics {

// World frame W: X forward, Y up, Z to the athlete's right [m], origin on the floor under the
// athlete. The optical axis of a level camera meets the point (aim, height, 0); yaw turns the
// camera about the vertical through that point. Six freedoms: position and orientation.
// Picture: x right, y down [px], principal point at principal_px (the centre, commonly).
template <typename T>
struct PinholeCamera {
  BodySide side = BodySide::Right;  // which side of the athlete it looks at when yaw is 0
  T yaw = T(0.0);       // [rad] 0 = square to the side, positive = towards the athlete's front,
                        // pi/2 = from the front
  T pitch = T(0.0);     // [rad] looking down positive
  T roll = T(0.0);      // [rad] the scene appears turned clockwise
  T distance = T(5.0);  // [m] camera centre to the vertical through the aimed point
  T height = T(1.0);    // [m] camera centre above the floor
  T aim = T(0.0);       // [m] X of the aimed point
  T focal_px = T(1500.0);
  Eigen::Vector2d principal_px = {960.0, 540.0};

  // Camera centre in W [m].
  Eigen::Matrix<T, 3, 1> center() const {
    using std::cos;
    using std::sin;
    return {T(aim + distance * sin(yaw)), height, T(T(sign()) * distance * cos(yaw))};
  }
  double sign() const { return side == BodySide::Right ? 1.0 : -1.0; }
};

// Point in the camera's frame: x right, y up (both along the unrolled picture), z depth [m].
template <typename T>
Eigen::Matrix<T, 3, 1> in_camera(const PinholeCamera<T>& camera,
                                 const Eigen::Matrix<T, 3, 1>& p_W) {
  using std::cos;
  using std::sin;
  const Eigen::Matrix<T, 3, 1> q = p_W - camera.center();
  const T s = T(camera.sign());
  const T cy = cos(camera.yaw), sy = sin(camera.yaw);
  const T ahead = -sy * q.x() - s * cy * q.z();  // along the level viewing direction
  const T right = s * cy * q.x() - sy * q.z();
  const T cp = cos(camera.pitch), sp = sin(camera.pitch);
  return {right, T(cp * q.y() + sp * ahead), T(cp * ahead - sp * q.y())};
}

// Picture of a point [px]. Valid for points in front of the camera (depth > 0).
template <typename T>
Eigen::Matrix<T, 2, 1> project(const PinholeCamera<T>& camera, const Eigen::Matrix<T, 3, 1>& p_W) {
  using std::cos;
  using std::sin;
  const Eigen::Matrix<T, 3, 1> p_C = in_camera(camera, p_W);
  const T u = camera.focal_px * p_C.x() / p_C.z();
  const T v = -camera.focal_px * p_C.y() / p_C.z();
  const T cr = cos(camera.roll), sr = sin(camera.roll);
  return {T(T(camera.principal_px.x()) + cr * u - sr * v),
          T(T(camera.principal_px.y()) + sr * u + cr * v)};
}

}  // namespace lintel::kinematics
