#include "bar/ellipse_fit.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include <Eigen/Cholesky>
#include <Eigen/LU>

namespace lintel::bar {

namespace {

using Vector5 = Eigen::Matrix<double, 5, 1>;
using Matrix5 = Eigen::Matrix<double, 5, 5>;

struct Linearised {
  double distance = 0;
  Vector5 gradient = Vector5::Zero();
};

// d = (|S^-1 (x - c)| - 1) / |its gradient|; the derivative of the denominator is second order.
Linearised linearise(const Ellipse& e, const Eigen::Matrix2d& inverse_shape,
                     const Eigen::Vector2d& point) {
  const Eigen::Vector2d q = inverse_shape * (point - e.center_px);
  const double rho = q.norm();
  Linearised out;
  if (rho < 1e-9) {  // the centre itself: no direction
    out.distance = -e.semi_minor_px();
    return out;
  }
  const Eigen::Vector2d normal = inverse_shape * q / rho;
  const double slope = normal.norm();
  out.distance = (rho - 1.0) / slope;
  out.gradient << -normal.x(), -normal.y(), -normal.dot(q),
      -(normal.x() * q.x() - normal.y() * q.y()), -(normal.x() * q.y() + normal.y() * q.x());
  out.gradient /= slope;
  return out;
}

double median_of(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

double huber_weight(double r) {
  return std::abs(r) <= 1.345 ? 1.0 : 1.345 / std::abs(r);
}
double biweight(double r) {
  const double t = 1.0 - (r / 4.685) * (r / 4.685);
  return t > 0 ? t * t : 0.0;
}

void add_prior(const Ellipse& e, const ShapePrior& prior, double variance, Matrix5& normal,
               Vector5& right) {
  const double offset[3] = {e.mean_radius_px - prior.mean.mean_radius_px,
                            e.stretch_x_px - prior.mean.stretch_x_px,
                            e.stretch_xy_px - prior.mean.stretch_xy_px};
  const double spread[3] = {prior.radius_spread_px, prior.stretch_spread_px,
                            prior.stretch_spread_px};
  for (int k = 0; k < 3; ++k) {
    const double weight = variance / (spread[k] * spread[k]);
    normal(k + 2, k + 2) += weight;
    right(k + 2) += weight * offset[k];
  }
}

// Neighbouring residuals that err together carry less information: factor on the variance.
double correlation_inflation(std::span<const double> residuals, std::span<const double> weights) {
  double product = 0, square = 0;
  int pairs = 0;
  for (std::size_t i = 0; i < residuals.size(); ++i) {
    const std::size_t j = (i + 1) % residuals.size();
    if (weights[i] <= 0.1 || weights[j] <= 0.1) continue;
    product += residuals[i] * residuals[j];
    square += 0.5 * (residuals[i] * residuals[i] + residuals[j] * residuals[j]);
    ++pairs;
  }
  if (pairs < 8 || square <= 0) return 1.5;
  const double rho = std::clamp(product / square, 0.0, 0.8);
  return (1 + rho) / (1 - rho);
}

}  // namespace

Eigen::Matrix2d Ellipse::shape() const {
  Eigen::Matrix2d s;
  s << mean_radius_px + stretch_x_px, stretch_xy_px, stretch_xy_px, mean_radius_px - stretch_x_px;
  return s;
}
double Ellipse::semi_major_px() const {
  return mean_radius_px + std::hypot(stretch_x_px, stretch_xy_px);
}
double Ellipse::semi_minor_px() const {
  return mean_radius_px - std::hypot(stretch_x_px, stretch_xy_px);
}
double Ellipse::major_axis_angle() const {
  return 0.5 * std::atan2(stretch_xy_px, stretch_x_px);
}

Ellipse circle(const Eigen::Vector2d& center_px, double radius_px) {
  return Ellipse{center_px, radius_px, 0, 0};
}

double signed_distance_px(const Ellipse& ellipse, const Eigen::Vector2d& point_px) {
  return linearise(ellipse, ellipse.shape().inverse(), point_px).distance;
}

EllipseFit fit_ellipse(std::span<const RimPoint> points, const Ellipse& start,
                       const ShapePrior& prior) {
  EllipseFit fit;
  fit.ellipse = start;
  fit.covariance.setZero();
  const std::size_t n = points.size();
  if (n < 6 || !(start.semi_minor_px() > 1)) return fit;
  std::vector<double> residuals(n), magnitudes(n), weights(n, 1.0);
  std::vector<Vector5> gradients(n);
  Matrix5 normal;
  constexpr int kIterations = 12;
  for (int iteration = 0; iteration < kIterations; ++iteration) {
    const Eigen::Matrix2d inverse_shape = fit.ellipse.shape().inverse();
    for (std::size_t i = 0; i < n; ++i) {
      const Linearised l = linearise(fit.ellipse, inverse_shape, points[i].position_px);
      residuals[i] = l.distance / points[i].spread_px;
      magnitudes[i] = std::abs(residuals[i]);
      gradients[i] = l.gradient / points[i].spread_px;
    }
    // Never below 0.02: a rim fitted "perfectly" by few points must not get infinite weight.
    fit.scale = std::max(1.4826 * median_of(magnitudes), 0.02);
    normal.setZero();
    Vector5 right = Vector5::Zero();
    for (std::size_t i = 0; i < n; ++i) {
      const double r = residuals[i] / fit.scale;
      weights[i] = iteration < 4 ? huber_weight(r) : biweight(r);
      normal += weights[i] * gradients[i] * gradients[i].transpose();
      right += weights[i] * gradients[i] * residuals[i];
    }
    add_prior(fit.ellipse, prior, fit.scale * fit.scale, normal, right);
    const Eigen::LDLT<Matrix5> solver(normal);
    if (solver.info() != Eigen::Success || !solver.isPositive()) return fit;
    const Vector5 step = -solver.solve(right);
    if (!step.allFinite() || step.norm() > start.mean_radius_px) return fit;
    fit.ellipse.center_px += step.head<2>();
    fit.ellipse.mean_radius_px += step(2);
    fit.ellipse.stretch_x_px += step(3);
    fit.ellipse.stretch_xy_px += step(4);
    if (fit.ellipse.semi_minor_px() < 0.3 * fit.ellipse.semi_major_px()) return fit;
    if (iteration >= 5 && step.norm() < 1e-4) break;
  }
  double square = 0, total = 0;
  for (std::size_t i = 0; i < n; ++i) {
    square += weights[i] * residuals[i] * residuals[i];
    total += weights[i];
    if (magnitudes[i] < 3 * fit.scale) ++fit.inliers;
  }
  if (total < 6) return fit;
  const double variance = std::max(square / (total - 5), 0.25 * fit.scale * fit.scale);
  fit.covariance = normal.ldlt().solve(Matrix5::Identity()) * variance *
                   correlation_inflation(residuals, weights);
  fit.converged = fit.covariance.allFinite();
  return fit;
}

}  // namespace lintel::bar
