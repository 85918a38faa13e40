#include "bar/rim.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include <Eigen/LU>

#include "bar/rim_rays.h"
#include "base/random.h"

namespace lintel::bar {

namespace {

constexpr double kModelError = 0.02;  // [px] of interpolation, quantisation, unknown tone curve
constexpr double kUsualSpread = 0.3;  // [px] RimPoint::spread_px of a sharp edge, see spread_of
constexpr double kRingShare = 0.5;    // a ring outside counts if seen half as well

double spread_of(const Edge& edge) {
  return std::hypot(0.15, 0.1 * edge.width_px);
}

// Offsets of a slightly moved, grown and squeezed circle from the start, as seen along the rays.
struct Shift {
  double growth = 0, x = 0, y = 0, stretch = 0;
  double score = 0;
  double at(const Ray& ray) const {
    return growth + x * ray.direction.x() + y * ray.direction.y() + squeeze_at(ray);
  }
  double squeeze_at(const Ray& ray) const { return stretch * std::cos(2 * ray.angle); }
};

// Sum over rays of 1 - (miss / tolerance)^2 for the edge nearest to where the shift expects it.
double agreement(const std::vector<Ray>& rays, const Shift& shift, double tolerance) {
  double sum = 0;
  for (const Ray& ray : rays) {
    const double expected = shift.at(ray);
    double nearest = tolerance;
    for (const Edge& edge : ray.edges)
      nearest = std::min(nearest, std::abs(edge.offset_px - expected));
    sum += 1 - nearest * nearest / (tolerance * tolerance);
  }
  return sum;
}

// Three-ray consensus: the sizes and places at which edges (rim, lip, paint, background) make one
// circle, best first, no two of nearly the same size (of a known size: place).
std::vector<Shift> find_consensus(const std::vector<Ray>& rays, double radius, double window,
                                  double tolerance, RimOptions::Choice choice) {
  std::vector<const Ray*> usable;
  for (const Ray& ray : rays) {
    if (!ray.edges.empty()) usable.push_back(&ray);
  }
  if (usable.size() < 8) return {};
  Random random(usable.size());
  const auto draw = [&](std::size_t size) {
    return static_cast<std::size_t>(random.next() % size);
  };
  const bool known = choice == RimOptions::Choice::Nearest;
  std::vector<Shift> shifts;
  for (int trial = 0; trial < 160; ++trial) {
    Shift shift;
    // Half of the draws of a search suppose a camera turned by 20 degrees.
    if (!known && trial % 2 == 1) shift.stretch = -0.03 * radius;
    Eigen::Matrix3d rows;
    Eigen::Vector3d offsets;
    for (int k = 0; k < 3; ++k) {
      const Ray& ray = *usable[draw(usable.size())];
      rows.row(k) << 1, ray.direction.x(), ray.direction.y();
      // Every other time the strongest edge, which comes first.
      const std::size_t which = draw(2) == 0 ? 0 : draw(ray.edges.size());
      offsets(k) = ray.edges[which].offset_px - shift.squeeze_at(ray);
    }
    if (known) {  // its size: two rays give the place
      rows.row(2) << 1, 0, 0;
      offsets(2) = 0;
    }
    if (std::abs(rows.determinant()) < 0.5) continue;
    const Eigen::Vector3d solution = rows.inverse() * offsets;
    shift.growth = solution(0);
    shift.x = solution(1);
    shift.y = solution(2);
    if (std::abs(shift.growth) > window || std::hypot(shift.x, shift.y) > window) continue;
    shift.score = agreement(rays, shift, tolerance);
    shifts.push_back(shift);
  }
  std::sort(shifts.begin(), shifts.end(),
            [](const Shift& a, const Shift& b) { return a.score > b.score; });
  std::vector<Shift> distinct;
  const std::size_t wanted = known ? 3 : 5;
  for (const Shift& shift : shifts) {
    const bool seen = std::any_of(distinct.begin(), distinct.end(), [&](const Shift& other) {
      const double apart = known ? std::hypot(other.x - shift.x, other.y - shift.y)
                                 : std::abs(other.growth - shift.growth);
      return apart < std::max(1.5, 0.02 * radius);
    });
    if (!seen) distinct.push_back(shift);
    if (distinct.size() == wanted) break;
  }
  return distinct;
}

// For each ray the edge nearest to the ellipse, if within the tolerance; in order round the rim.
struct Chosen {
  std::vector<RimPoint> points;
  std::vector<const Edge*> edges;
  std::vector<double> angles;
};
Chosen choose_nearest(const std::vector<Ray>& rays, const Ellipse& ellipse, double tolerance) {
  Chosen chosen;
  for (const Ray& ray : rays) {
    const Edge* best = nullptr;
    double best_distance = tolerance;
    for (const Edge& edge : ray.edges) {
      const double distance = std::abs(signed_distance_px(ellipse, edge.position_px));
      if (distance < best_distance) {
        best_distance = distance;
        best = &edge;
      }
    }
    if (best == nullptr) continue;
    chosen.points.push_back({best->position_px, spread_of(*best)});
    chosen.edges.push_back(best);
    chosen.angles.push_back(ray.angle);
  }
  return chosen;
}

// Window of the second pass: wide where the first pass saw wide (smeared) edges near that angle.
std::vector<double> second_windows(const Chosen& chosen, int count, double limit) {
  std::vector<double> windows(static_cast<std::size_t>(count));
  for (std::size_t i = 0; i < windows.size(); ++i) {
    const double angle = 2 * std::numbers::pi * static_cast<double>(i) / count;
    std::vector<double> widths;
    for (std::size_t j = 0; j < chosen.edges.size(); ++j) {
      if (std::cos(angle - chosen.angles[j]) > 0.94) widths.push_back(chosen.edges[j]->width_px);
    }
    double width = 2.5;
    if (!widths.empty()) {
      const auto middle = widths.begin() + static_cast<std::ptrdiff_t>(widths.size() / 2);
      std::nth_element(widths.begin(), middle, widths.end());
      width = *middle;
    }
    windows[i] = std::clamp(2.5 + width, 4.0, std::max(limit, 4.0));
  }
  return windows;
}

// One ellipse through the edges of the first pass.
struct CoarseRim {
  EllipseFit fit;
  Chosen chosen;
  double agreement = 0;  // rays with an edge on the ellipse
  double worth = 0;      // the same times the logarithm of how sharply they lie on it
};

CoarseRim settle(const std::vector<Ray>& rays, const Ellipse& start, const Shift& shift,
                 double tolerance, const ShapePrior& prior) {
  CoarseRim rim;
  rim.fit.ellipse = start;
  rim.fit.ellipse.center_px += Eigen::Vector2d(shift.x, shift.y);
  rim.fit.ellipse.mean_radius_px += shift.growth;
  rim.fit.ellipse.stretch_x_px += shift.stretch;
  for (const double share : {1.0, 0.7, 0.45}) {
    rim.chosen = choose_nearest(rays, rim.fit.ellipse, tolerance * share);
    rim.fit = fit_ellipse(rim.chosen.points, rim.fit.ellipse, prior);
    if (!rim.fit.converged) return rim;
  }
  const double tight = 0.6 + 0.003 * start.mean_radius_px;
  for (const RimPoint& point : rim.chosen.points) {
    const double miss = signed_distance_px(rim.fit.ellipse, point.position_px) / tight;
    rim.agreement += std::max(0.0, 1 - miss * miss);
  }
  // A true rim is sharper than a chance ellipse of mixed edges, which may catch as many rays.
  rim.worth = rim.agreement *
              std::log(tolerance / std::clamp(kUsualSpread * rim.fit.scale, 0.15, 0.5 * tolerance));
  return rim;
}

// Rings of one disc share centre and form; a chance ellipse of mixed edges rarely does.
bool concentric(const Ellipse& a, const Ellipse& b) {
  const double allowed = 0.5 + 0.015 * b.mean_radius_px;
  return (a.center_px - b.center_px).norm() < allowed &&
         std::hypot(a.stretch_x_px - b.stretch_x_px, a.stretch_xy_px - b.stretch_xy_px) <
             2 * allowed;  // motion blur merges rings unevenly
}

// How far outside the ellipse another edge runs round nearly as completely as the one found.
std::optional<double> outer_ring(const std::vector<Ray>& rays, const CoarseRim& rim) {
  const double half_band = 0.7 + 0.006 * rim.fit.ellipse.mean_radius_px;
  std::vector<double> offsets;
  for (const Ray& ray : rays) {
    for (const Edge& edge : ray.edges) {
      const double d = signed_distance_px(rim.fit.ellipse, edge.position_px);
      if (d > 2 * half_band + 1) offsets.push_back(d);
    }
  }
  std::sort(offsets.begin(), offsets.end());
  std::optional<double> best;
  auto most = static_cast<std::size_t>(std::max(kRingShare * rim.agreement, 8.0));
  std::size_t last = 0;
  for (std::size_t first = 0; first < offsets.size(); ++first) {
    while (last < offsets.size() && offsets[last] <= offsets[first] + 2 * half_band) ++last;
    if (last - first < most) continue;
    most = last - first;
    best = offsets[first + most / 2];
  }
  return best;
}

// The rays with nothing but the outermost strong edge. Motion blur can leave a lip visible at the
// sides only, and lip at the sides with rim at the top is an ellipse too: of a turned camera.
std::vector<Ray> outermost_strong_edges(const std::vector<Ray>& rays) {
  std::vector<Ray> bare(rays.size());
  for (std::size_t i = 0; i < rays.size(); ++i) {
    bare[i].angle = rays[i].angle;
    bare[i].direction = rays[i].direction;
    double strongest = 0;
    for (const Edge& edge : rays[i].edges) strongest = std::max(strongest, edge.step);
    const Edge* outermost = nullptr;
    for (const Edge& edge : rays[i].edges) {
      if (edge.step < 0.35 * strongest) continue;
      if (outermost == nullptr || edge.offset_px > outermost->offset_px) outermost = &edge;
    }
    if (outermost != nullptr) bare[i].edges = {*outermost};
  }
  return bare;
}

// The best of the concentric edges, or the outermost that is nearly as good.
std::optional<CoarseRim> first_pass(const std::vector<Ray>& rays, const Ellipse& start,
                                    double window, double tolerance, const ShapePrior& prior,
                                    RimOptions::Choice choice) {
  std::vector<CoarseRim> rims;
  const auto add = [&](const std::vector<Shift>& shifts) {
    for (const Shift& shift : shifts) {
      CoarseRim rim = settle(rays, start, shift, tolerance, prior);
      if (rim.fit.converged) rims.push_back(std::move(rim));
    }
  };
  add(find_consensus(rays, start.mean_radius_px, window, tolerance, choice));
  if (choice == RimOptions::Choice::Outermost) {
    add(find_consensus(outermost_strong_edges(rays), start.mean_radius_px, window, tolerance,
                       choice));
  }
  if (rims.empty()) return std::nullopt;
  const CoarseRim* best =
      &*std::max_element(rims.begin(), rims.end(),
                         [](const CoarseRim& a, const CoarseRim& b) { return a.worth < b.worth; });
  if (choice == RimOptions::Choice::Outermost) {
    const CoarseRim* sharpest = best;
    for (const CoarseRim& rim : rims) {
      const bool outside = rim.fit.ellipse.mean_radius_px > best->fit.ellipse.mean_radius_px;
      if (outside && concentric(rim.fit.ellipse, sharpest->fit.ellipse) &&
          rim.worth > kRingShare * sharpest->worth) {
        best = &rim;
      }
    }
  }
  CoarseRim outer = *best;
  for (int ring = 0; ring < 3 && choice == RimOptions::Choice::Outermost; ++ring) {
    const auto further = outer_ring(rays, outer);
    if (!further) break;
    Shift shift;
    shift.growth = *further;
    CoarseRim next = settle(rays, outer.fit.ellipse, shift, 0.7 * tolerance, prior);
    if (!next.fit.converged || !concentric(next.fit.ellipse, outer.fit.ellipse)) break;
    if (next.worth < kRingShare * best->worth) break;
    outer = std::move(next);
  }
  return outer;
}

double median_step(const Chosen& chosen) {
  std::vector<double> steps;
  for (const Edge* edge : chosen.edges) steps.push_back(edge->step);
  if (steps.empty()) return 0;
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle;
}

void count_support(const std::vector<Ray>& rays, const EllipseFit& fit, const Chosen& chosen,
                   Rim& rim) {
  // Smeared edges lie less well; by chance textures have an edge within 0.8 px on a ray in five.
  const double limit = std::max(0.8, 0.006 * fit.ellipse.mean_radius_px);
  int seen = 0, readable = 0;
  for (const RimPoint& point : chosen.points) {
    const double distance = std::abs(signed_distance_px(fit.ellipse, point.position_px));
    if (distance < limit * std::max(1.0, point.spread_px / 0.6)) ++seen;
  }
  for (const Ray& ray : rays) readable += ray.in_picture ? 1 : 0;
  rim.support = static_cast<double>(seen) / static_cast<double>(rays.size());
  rim.visible_support = readable > 0 ? static_cast<double>(seen) / readable : 0;
}

}  // namespace

double Rim::center_standard_error_px() const {
  return std::sqrt(std::max(covariance(0, 0), covariance(1, 1)) + kModelError * kModelError);
}
double Rim::semi_axis_standard_error_px() const {
  return std::sqrt(covariance(2, 2) + std::max(covariance(3, 3), covariance(4, 4)) +
                   kModelError * kModelError);
}

std::optional<Rim> refine_rim(const Image& image, const Ellipse& start, const RimOptions& options) {
  const double radius = start.mean_radius_px;
  if (image.empty() || !(radius > 4) || !(start.semi_minor_px() > 3) ||
      !start.center_px.allFinite() || radius > 4.0 * (image.width() + image.height())) {
    return std::nullopt;
  }
  ShapePrior prior = options.prior;
  if (!(prior.mean.mean_radius_px > 0)) {
    prior.mean = circle(start.center_px, radius);
    prior.radius_spread_px = 1e6;
    prior.stretch_spread_px = 0.06 * radius;  // a turn of 25 degrees is 0.05
  }
  const double window = std::clamp(options.window_share * radius, 4.0, kMaxHalf * kStep);
  const int coarse_rays = radius < 40 ? 48 : 72;
  const std::vector<Ray> coarse = read_rays(image, start, coarse_rays, {&window, 1});
  const double tolerance = std::max(1.5, 0.035 * radius);
  const auto first = first_pass(coarse, start, window, tolerance, prior, options.choice);
  if (!first) return std::nullopt;
  EllipseFit fit = first->fit;
  Chosen chosen = first->chosen;
  const int fine_rays = std::clamp(static_cast<int>(2 * std::numbers::pi * radius / 2.5), 48, 180);
  const std::vector<double> windows = second_windows(chosen, fine_rays, window);
  const std::vector<Ray> fine = read_rays(image, fit.ellipse, fine_rays, windows);
  chosen = choose_nearest(fine, fit.ellipse, tolerance * 0.6);
  fit = fit_ellipse(chosen.points, fit.ellipse, prior);
  if (!fit.converged) return std::nullopt;
  Rim rim;
  rim.ellipse = fit.ellipse;
  rim.covariance = fit.covariance;
  rim.contrast = median_step(chosen);
  rim.scatter_px = fit.scale * kUsualSpread;
  count_support(fine, fit, chosen, rim);
  // The less of the rim is seen the likelier other edges take part; by experience, no source.
  const double doubt = 1 + 3 * std::max(0.0, 0.8 - rim.support);
  rim.covariance *= doubt * doubt;
  if (rim.support < 0.25 && rim.visible_support < 0.5) return std::nullopt;
  return rim;
}

}  // namespace lintel::bar
