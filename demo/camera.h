// A pinhole camera, and where it stands.
#pragma once

#include <Eigen/Core>

#include "demo/posture.h"

namespace lintel::demo {

struct CameraSpec {
  int width_px = 540;
  int height_px = 960;
  double focal_px = 1660;
  double distance = 5.4;  // horizontally from the aim point [m]
  double height = 1.20;   // above the floor [m]
  // Where it stands about the aim point: 0 = square to the right side of the lifter, pi/2 = in
  // front, pi = square to the left side [rad].
  double azimuth = 0;
  double pitch = 0;    // looking down positive [rad]
  double roll = 0;     // picture content turned clockwise by a positive roll [rad]
  double aim_x = 0.0;  // the optical axis passes over (aim_x, aim_z) on the floor [m]
  double aim_z = 0.0;
};

// Image coordinates: x right, y down, pixel (i, j) has its centre at (i + 0.5, j + 0.5); the
// principal point is the middle of the picture. p_C = R_CW (p_W - position): x right, y down,
// z ahead.
struct Camera {
  int width_px = 0;
  int height_px = 0;
  double focal_px = 0;
  Point position{0, 0, 0};
  Eigen::Matrix3d R_CW = Eigen::Matrix3d::Identity();

  Eigen::Vector2d project(const Point& p_W) const;  // [px]; needs p_W ahead of the camera
  Point ray(double x_px, double y_px) const;        // unit direction in W
  double depth(const Point& p_W) const { return R_CW.row(2).dot(p_W - position); }
};

Camera make_camera(const CameraSpec& spec);

}  // namespace lintel::demo
