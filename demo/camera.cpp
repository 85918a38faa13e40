#include "demo/camera.h"

#include <cmath>

#include <Eigen/Geometry>

namespace lintel::demo {

Camera make_camera(const CameraSpec& spec) {
  Camera c;
  c.width_px = spec.width_px;
  c.height_px = spec.height_px;
  c.focal_px = spec.focal_px;
  const Point outward(std::sin(spec.azimuth), 0, std::cos(spec.azimuth));
  c.position = Point(spec.aim_x, spec.height, spec.aim_z) + spec.distance * outward;
  const Point level = -outward;
  const Point right = level.cross(Point::UnitY());
  const Point ahead = std::cos(spec.pitch) * level - std::sin(spec.pitch) * Point::UnitY();
  const Point down = ahead.cross(right);
  // Turning the camera's axes counter-clockwise turns the content clockwise.
  const double cr = std::cos(spec.roll);
  const double sr = std::sin(spec.roll);
  c.R_CW.row(0) = cr * right - sr * down;
  c.R_CW.row(1) = sr * right + cr * down;
  c.R_CW.row(2) = ahead;
  return c;
}

Eigen::Vector2d Camera::project(const Point& p_W) const {
  const Point p_C = R_CW * (p_W - position);
  return {0.5 * width_px + focal_px * p_C.x() / p_C.z(),
          0.5 * height_px + focal_px * p_C.y() / p_C.z()};
}

Point Camera::ray(double x_px, double y_px) const {
  const Point p_C((x_px - 0.5 * width_px) / focal_px, (y_px - 0.5 * height_px) / focal_px, 1.0);
  return (R_CW.transpose() * p_C).normalized();
}

}  // namespace lintel::demo
