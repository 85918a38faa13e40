// What the ellipse of a round disc says about where it stands to the camera. Pure mathematics.
// Picture frame: x right, y down, pixels. Camera frame C: x right, y down, z forward; its optical
// axis meets the picture at the principal point (the middle, for an uncropped clip).
#pragma once

#include <optional>
#include <utility>

#include <Eigen/Core>

#include "base/units.h"
#include "kinematics/observation.h"

namespace lintel::bar {

// Angle between the bar and the direction away from the camera's picture plane, turning about the
// vertical [rad], magnitude only: acos of the horizontal part of the axis ratio, 1 - (1 - minor /
// major) cos(2 angle of the minor axis). Zero with a standard error that says how large it may be
// when the ellipse is rounder than its error. The error follows from semi_axis_standard_error_px by
// half the change of the angle over plus and minus one standard error of the ratio (the derivative
// of acos is infinite at 1). Weak perspective: exact for a disc near the optical axis; off it by
// (X/Z) sin(yaw) terms of the order radius^2 / distance^2.
Estimate yaw_from_axis_ratio(const kinematics::DiscObservation& disc);

// Signed turn of the bar from the near and the far disc, no focal length needed. With pixels per
// metre s = radius_px / radius at each disc and u = (x - principal_x) / s its sideways position,
// sin(yaw) = (u_far - u_near) / spacing. Positive: the far end lies to the right in the picture.
// disc_radius, disc_spacing (between the planes of the two rims) [m]. None when the offset is
// longer than the spacing.
std::optional<Estimate> yaw_from_disc_pair(const kinematics::DiscObservation& near_disc,
                                           const kinematics::DiscObservation& far_disc,
                                           double principal_x_px, double disc_radius,
                                           double disc_spacing);

// Where a pinhole camera shows a disc: the centre of the ellipse is not the image of the disc's
// centre. With centre P_CD = (X, Y, Z), unit normal n_C, radius r and focal length f, the dual
// conic of the image gives for the ellipse x_e = f (X Z + r^2 n_x n_z) / (Z^2 - r^2 (1 - n_z^2)),
// likewise y, from the principal point; the disc's centre is at f X / Z. Lengths [m]; result [px].
struct PinholeDisc {
  Eigen::Vector3d p_CD = {0, 0, 5};
  Eigen::Vector3d n_C = {0, 0, 1};
  double radius = 0.225;
};
Eigen::Vector2d ellipse_center_px(const PinholeDisc& disc, double focal_px,
                                  const Eigen::Vector2d& principal_px);
Eigen::Vector2d projected_center_px(const PinholeDisc& disc, double focal_px,
                                    const Eigen::Vector2d& principal_px);

// What to add to the observed centre to get the image of the disc's centre [px], for a bar that is
// level and turned by yaw [rad] (signed as in yaw_from_disc_pair). About f r^2 sin(yaw) cos(yaw) /
// Z^2: 1.6 px for 20 degrees at 4.75 m and 2280 px focal length, a quarter of a pixel for 3
// degrees.
Eigen::Vector2d center_correction_px(const kinematics::DiscObservation& disc, double yaw,
                                     double disc_radius, double focal_px,
                                     const Eigen::Vector2d& principal_px);

}  // namespace lintel::bar
