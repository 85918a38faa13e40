// Ellipse in the picture and its robust least-squares fit. Plain mathematics, Eigen only.
#pragma once

#include <span>

#include <Eigen/Core>

namespace lintel::bar {

// The points x = center + S u for all unit vectors u, with the symmetric positive matrix
// S = [[mean + stretch_x, stretch_xy], [stretch_xy, mean - stretch_x]]. No parameter is singular at
// the circle. Pixels, origin at the top left corner of the top left pixel, y down.
struct Ellipse {
  Eigen::Vector2d center_px = {0, 0};
  double mean_radius_px = 0;
  double stretch_x_px = 0;   // half the difference of the semi-axes times cos(2 angle)
  double stretch_xy_px = 0;  // the same times sin(2 angle)

  Eigen::Matrix2d shape() const;
  double semi_major_px() const;
  double semi_minor_px() const;
  double major_axis_angle() const;  // [rad] from x towards y, in (-pi/2, pi/2]
};
Ellipse circle(const Eigen::Vector2d& center_px, double radius_px);

// First-order (Sampson) distance [px] of a point from the ellipse, outside positive.
double signed_distance_px(const Ellipse& ellipse, const Eigen::Vector2d& point_px);

struct RimPoint {
  Eigen::Vector2d position_px = {0, 0};
  double spread_px = 1;  // relative standard deviation along the normal: only ratios matter
};

// What is known of the shape before the fit: independent normal priors [px].
struct ShapePrior {
  Ellipse mean;  // the center is not used
  double radius_spread_px = 1e6;
  double stretch_spread_px = 1e6;
};

struct EllipseFit {
  Ellipse ellipse;
  Eigen::Matrix<double, 5, 5> covariance;  // center x, y, mean radius, stretch_x, stretch_xy [px^2]
  double scale = 0;                        // robust standard deviation of residual / spread
  int inliers = 0;                         // points with a residual under 3 scale
  bool converged = false;  // false: too few points or a singular system; nothing else is valid
};

// Minimises the biweight of the Sampson distances over the five parameters by iterated re-weighted
// Gauss-Newton from `start` (Huber weights first). Points must be in order around the rim: the
// covariance is widened by the lag-1 correlation of the residuals, since neighbouring edges of a
// compressed picture err together. At least six points.
EllipseFit fit_ellipse(std::span<const RimPoint> points, const Ellipse& start,
                       const ShapePrior& prior);

}  // namespace lintel::bar
