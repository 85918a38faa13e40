#include "bar/rim_rays.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include <Eigen/LU>

namespace lintel::bar {

namespace {

constexpr double kKernelSigma = 0.8;  // [px]
constexpr double kFoot = 0.25;        // an edge ends where its slope is this share of the peak
constexpr double kMinSlope = 0.8;     // [grey levels/px] weakest edge in a noiseless picture
constexpr int kMaxEdgesPerRay = 4;

// sRGB to linear light, 0..1 (IEC 61966-2-1).
const std::array<float, 256>& linear_light() {
  static const std::array<float, 256> table = [] {
    std::array<float, 256> t{};
    for (int i = 0; i < 256; ++i) {
      const double v = i / 255.0;
      t[static_cast<std::size_t>(i)] =
          static_cast<float>(v <= 0.04045 ? v / 12.92 : std::pow((v + 0.055) / 1.055, 2.4));
    }
    return t;
  }();
  return table;
}

// Derivative of a Gaussian, normalised so that a ramp of slope 1 per px gives 1.
const std::array<float, 2 * kKernelHalf + 1>& derivative_kernel() {
  static const std::array<float, 2 * kKernelHalf + 1> kernel = [] {
    std::array<float, 2 * kKernelHalf + 1> k{};
    double moment = 0;
    for (int i = -kKernelHalf; i <= kKernelHalf; ++i) {
      const double x = i * kStep;
      const double v = x * std::exp(-0.5 * x * x / (kKernelSigma * kKernelSigma));
      k[static_cast<std::size_t>(i + kKernelHalf)] = static_cast<float>(v);
      moment += v * x;
    }
    for (float& v : k) v = static_cast<float>(v / moment);
    return k;
  }();
  return kernel;
}

class RimReader {
 public:
  explicit RimReader(const Image& image) : image_(image), table_(linear_light()) {}

  std::vector<Ray> read(const Ellipse& ellipse, int count, std::span<const double> half_windows) {
    const Eigen::Matrix2d shape = ellipse.shape();
    const Eigen::Matrix2d inverse = shape.inverse();
    std::vector<Ray> rays(static_cast<std::size_t>(count));
    for (std::size_t i = 0; i < rays.size(); ++i) {
      Ray& ray = rays[i];
      ray.angle = 2 * std::numbers::pi * static_cast<double>(i) / count;
      const Eigen::Vector2d u(std::cos(ray.angle), std::sin(ray.angle));
      ray.origin = ellipse.center_px + shape * u;
      ray.direction = (inverse * u).normalized();
      sample(ray, half_windows[half_windows.size() == 1 ? 0 : i]);
    }
    const float threshold = strength_threshold(rays);
    for (Ray& ray : rays) find_edges(ray, threshold);
    return rays;
  }

 private:
  bool light_at(double x, double y, float out[3]) const {
    x -= 0.5;
    y -= 0.5;
    if (!(x >= 0 && y >= 0 && x < image_.width() - 1 && y < image_.height() - 1)) return false;
    const int ix = static_cast<int>(x), iy = static_cast<int>(y);
    const float fx = static_cast<float>(x - ix), fy = static_cast<float>(y - iy);
    const std::uint8_t* a = image_.pixel(ix, iy);
    const std::uint8_t* b = image_.pixel(ix, iy + 1);
    for (int c = 0; c < 3; ++c) {
      const float top = table_[a[c]] + fx * (table_[a[c + 3]] - table_[a[c]]);
      const float bottom = table_[b[c]] + fx * (table_[b[c + 3]] - table_[b[c]]);
      out[c] = top + fy * (bottom - top);
    }
    return true;
  }

  void sample(Ray& ray, double half_window) const {
    const int half =
        std::clamp(static_cast<int>(std::lround(half_window / kStep)), 4, kMaxHalf) + kKernelHalf;
    ray.middle = half;
    int low = 2 * half + 1, high = -1;
    for (int k = 0; k <= 2 * half; ++k) {
      const Eigen::Vector2d p = ray.origin + (k - half) * kStep * ray.direction;
      float value[3];
      if (!light_at(p.x(), p.y(), value)) continue;
      for (std::size_t c = 0; c < 3; ++c) ray.light[c][static_cast<std::size_t>(k)] = value[c];
      low = std::min(low, k);
      high = std::max(high, k);
    }
    ray.first = low + kKernelHalf;
    ray.last = high - kKernelHalf;
    // The rim itself and 2 px to each side must be readable.
    ray.in_picture = ray.first <= half - 4 && ray.last >= half + 4;
    if (!ray.in_picture) return;
    const auto& kernel = derivative_kernel();
    std::array<Samples, 3> encoded;
    for (std::size_t c = 0; c < 3; ++c) {
      for (int k = low; k <= high; ++k) {
        const auto i = static_cast<std::size_t>(k);
        encoded[c][i] = 255.0F * std::sqrt(ray.light[c][i]);  // near enough to find edges by
      }
    }
    for (int k = ray.first; k <= ray.last; ++k) {
      float square = 0;
      for (std::size_t c = 0; c < 3; ++c) {
        float d_light = 0, d_encoded = 0;
        for (int j = -kKernelHalf; j <= kKernelHalf; ++j) {
          const float w = kernel[static_cast<std::size_t>(j + kKernelHalf)];
          d_light += w * ray.light[c][static_cast<std::size_t>(k + j)];
          d_encoded += w * encoded[c][static_cast<std::size_t>(k + j)];
        }
        ray.slope[c][static_cast<std::size_t>(k)] = d_light;
        square += d_encoded * d_encoded;
      }
      ray.strength[static_cast<std::size_t>(k)] = std::sqrt(square);
    }
  }

  // Of the strength of an edge: most samples of most rays lie off the rim and show noise and
  // texture.
  static float strength_threshold(const std::vector<Ray>& rays) {
    std::vector<float> all;
    for (const Ray& ray : rays) {
      if (!ray.in_picture) continue;
      for (int k = ray.first; k <= ray.last; k += 2)
        all.push_back(ray.strength[static_cast<std::size_t>(k)]);
    }
    if (all.empty()) return std::numeric_limits<float>::max();
    // The 40th percentile: in narrow windows the rim itself fills up to half of the samples.
    const auto at = all.begin() + static_cast<std::ptrdiff_t>(all.size() * 2 / 5);
    std::nth_element(all.begin(), at, all.end());
    return std::max(static_cast<float>(kMinSlope), 2.0F * *at);
  }

  void find_edges(Ray& ray, float threshold) const {
    ray.edges.clear();
    if (!ray.in_picture) return;
    for (int k = ray.first; k <= ray.last; ++k) {
      const auto i = static_cast<std::size_t>(k);
      const float g = ray.strength[i];
      if (g < threshold) continue;
      if (k > ray.first && ray.strength[i - 1] > g) continue;
      if (k < ray.last && ray.strength[i + 1] >= g) continue;
      Edge edge;
      if (!locate(ray, k, edge)) continue;
      const bool seen = std::any_of(ray.edges.begin(), ray.edges.end(), [&](const Edge& other) {
        return std::abs(other.offset_px - edge.offset_px) < 1.0;
      });
      if (!seen) ray.edges.push_back(edge);
    }
    std::sort(ray.edges.begin(), ray.edges.end(),
              [](const Edge& a, const Edge& b) { return a.step > b.step; });
    if (ray.edges.size() > kMaxEdgesPerRay) ray.edges.resize(kMaxEdgesPerRay);
  }

  // Centroid of the slope over the contiguous ramp round a peak, along the colour of the peak:
  // the gradient peak for a sharp edge, the middle of the ramp for a smeared one.
  bool locate(const Ray& ray, int peak, Edge& edge) const {
    const auto at = static_cast<std::size_t>(peak);
    float axis[3];
    float norm = 0;
    for (std::size_t c = 0; c < 3; ++c) norm += ray.slope[c][at] * ray.slope[c][at];
    norm = std::sqrt(norm);
    if (!(norm > 0)) return false;
    for (std::size_t c = 0; c < 3; ++c) axis[c] = ray.slope[c][at] / norm;
    const auto projected = [&](int k) {
      const auto i = static_cast<std::size_t>(k);
      return static_cast<double>(axis[0] * ray.slope[0][i] + axis[1] * ray.slope[1][i] +
                                 axis[2] * ray.slope[2][i]);
    };
    const double foot = kFoot * projected(peak);
    double sum = 0, first_moment = 0, second_moment = 0, encoded_step = 0;
    const auto take = [&](int k) {
      const double w = projected(k) - foot;
      if (w <= 0) return false;
      const double s = (k - ray.middle) * kStep;
      sum += w;
      first_moment += w * s;
      second_moment += w * s * s;
      encoded_step += kStep * ray.strength[static_cast<std::size_t>(k)];
      return true;
    };
    for (int k = peak; k <= ray.last && take(k); ++k) {
    }
    for (int k = peak - 1; k >= ray.first && take(k); --k) {
    }
    if (!(sum > 0)) return false;
    edge.offset_px = first_moment / sum;
    const double variance = std::max(second_moment / sum - edge.offset_px * edge.offset_px, 0.0);
    edge.width_px = std::sqrt(12 * variance);
    edge.step = encoded_step;
    edge.position_px = ray.origin + edge.offset_px * ray.direction;
    return runs_along_rim(ray, edge, axis, foot / kFoot);
  }

  // The gradient must point along the ray, to 27 degrees: rejects texture and crossing lines.
  bool runs_along_rim(const Ray& ray, const Edge& edge, const float axis[3],
                      double normal_slope) const {
    constexpr double kReach = 2.0;  // [px] to each side along the rim
    const Eigen::Vector2d tangent(-ray.direction.y(), ray.direction.x());
    double difference = 0;
    int pairs = 0;
    for (const double along : {-1.0, 0.0, 1.0}) {
      const Eigen::Vector2d middle = edge.position_px + along * ray.direction;
      const Eigen::Vector2d a = middle + kReach * tangent, b = middle - kReach * tangent;
      float va[3], vb[3];
      if (!light_at(a.x(), a.y(), va) || !light_at(b.x(), b.y(), vb)) continue;
      for (int c = 0; c < 3; ++c) difference += axis[c] * (va[c] - vb[c]);
      ++pairs;
    }
    if (pairs == 0) return false;
    return std::abs(difference / pairs / (2 * kReach)) < 0.5 * std::abs(normal_slope);
  }

  const Image& image_;
  const std::array<float, 256>& table_;
};

}  // namespace

std::vector<Ray> read_rays(const Image& image, const Ellipse& ellipse, int count,
                           std::span<const double> half_windows) {
  return RimReader(image).read(ellipse, count, half_windows);
}

}  // namespace lintel::bar
