#include "bar/disc_geometry.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lintel::bar {

Estimate yaw_from_axis_ratio(const kinematics::DiscObservation& disc) {
  const double major = disc.semi_major_px, minor = disc.semi_minor_px;
  if (!(major > 0) || !(minor > 0)) return {0, std::numbers::pi / 2};
  // cos(2 angle of the minor axis) = -cos(2 angle of the major axis)
  const double flattening = -(1 - minor / major) * std::cos(2.0 * disc.major_axis_angle);
  const double error = std::sqrt(2.0) * disc.semi_axis_standard_error_px / major;
  const auto angle = [](double f) { return std::acos(1 - std::clamp(f, 0.0, 1.0)); };
  Estimate yaw;
  yaw.value = angle(flattening);
  const double low = angle(flattening - error), high = angle(flattening + error);
  yaw.standard_error =
      flattening > error ? 0.5 * (high - low) : std::max(high - yaw.value, yaw.value - low);
  return yaw;
}

std::optional<Estimate> yaw_from_disc_pair(const kinematics::DiscObservation& near_disc,
                                           const kinematics::DiscObservation& far_disc,
                                           double principal_x_px, double disc_radius,
                                           double disc_spacing) {
  if (!(near_disc.semi_major_px > 0) || !(far_disc.semi_major_px > 0) || !(disc_radius > 0) ||
      !(disc_spacing > 0)) {
    return std::nullopt;
  }
  double variance = 0;
  const auto sideways = [&](const kinematics::DiscObservation& disc) {
    const double metres_per_px = disc_radius / disc.semi_major_px;
    const double u = (disc.center_px.x() - principal_x_px) * metres_per_px;
    const double from_center = disc.center_standard_error_px * metres_per_px;
    const double from_scale = u * disc.semi_axis_standard_error_px / disc.semi_major_px;
    variance += from_center * from_center + from_scale * from_scale;
    return u;
  };
  const double sine = (sideways(far_disc) - sideways(near_disc)) / disc_spacing;
  if (std::abs(sine) >= 0.999) return std::nullopt;
  const double cosine = std::sqrt(1 - sine * sine);
  return Estimate{std::asin(sine), std::sqrt(variance) / disc_spacing / cosine};
}

Eigen::Vector2d ellipse_center_px(const PinholeDisc& disc, double focal_px,
                                  const Eigen::Vector2d& principal_px) {
  const Eigen::Vector3d n = disc.n_C.normalized();
  const double r2 = disc.radius * disc.radius;
  const double z = disc.p_CD.z();
  const double denominator = z * z - r2 * (1 - n.z() * n.z());
  const Eigen::Vector2d numerator = disc.p_CD.head<2>() * z + r2 * n.z() * n.head<2>();
  return principal_px + focal_px * numerator / denominator;
}

Eigen::Vector2d projected_center_px(const PinholeDisc& disc, double focal_px,
                                    const Eigen::Vector2d& principal_px) {
  return principal_px + focal_px * disc.p_CD.head<2>() / disc.p_CD.z();
}

Eigen::Vector2d center_correction_px(const kinematics::DiscObservation& disc, double yaw,
                                     double disc_radius, double focal_px,
                                     const Eigen::Vector2d& principal_px) {
  if (!(disc.semi_major_px > 0) || !(focal_px > 0) || !(disc_radius > 0)) return {0, 0};
  // The major axis is seen square, so it gives the distance.
  PinholeDisc model;
  const double z = focal_px * disc_radius / disc.semi_major_px;
  const Eigen::Vector2d offset = disc.center_px.cast<double>() - principal_px;
  model.p_CD << offset * z / focal_px, z;
  model.n_C << std::sin(yaw), 0, std::cos(yaw);
  model.radius = disc_radius;
  return projected_center_px(model, focal_px, principal_px) -
         ellipse_center_px(model, focal_px, principal_px);
}

}  // namespace lintel::bar
