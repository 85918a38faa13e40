#include "demo/field.h"

#include <algorithm>
#include <limits>
#include <numeric>

namespace lintel::demo {

namespace {

constexpr float kMargin = 0.04F;  // beyond a primitive's own melting [m]
constexpr float kBulge = 0.045F;  // melting lifts the surface by less than this [m]

// Polynomial smooth minimum, Quilez 2013.
float smooth_min(float a, float b, float k) {
  if (k <= 0) return std::min(a, b);
  const float h = std::max(k - std::fabs(a - b), 0.0F) / k;
  return std::min(a, b) - h * h * k * 0.25F;
}

}  // namespace

float Field::primitive_distance(const Primitive& q, Vec p) const {
  const Vec d = p - q.a;
  switch (q.shape) {
    case Shape::Capsule: {
      const float s = dot(d, q.axis) * q.inverse_length_squared;
      const float t = clamp01(s);
      float radius = q.ra + (q.rb - q.ra) * t;
      if (q.cloth > 0) radius += q.cloth * (1 - smoothstep(q.cut - 0.02F, q.cut + 0.01F, s));
      return length(d - q.axis * t) - radius;
    }
    case Shape::Ellipsoid: {
      const float x = dot(d, q.u) * q.inverse_r.x;
      const float y = dot(d, q.v) * q.inverse_r.y;
      const float z = dot(d, q.w) * q.inverse_r.z;
      const float k0 = std::sqrt(x * x + y * y + z * z);
      const float xx = x * q.inverse_r.x;
      const float yy = y * q.inverse_r.y;
      const float zz = z * q.inverse_r.z;
      const float k1 = std::sqrt(xx * xx + yy * yy + zz * zz);
      return k1 > 1e-9F ? k0 * (k0 - 1) / k1 : -std::min(q.r.x, std::min(q.r.y, q.r.z));
    }
    case Shape::Slab: {
      const float h = dot(d, q.w);
      const Vec flat = d - q.w * h;
      const float t = clamp01(dot(flat, q.axis) * q.inverse_length_squared);
      constexpr float kRound = 0.006F;
      const float side = length(flat - q.axis * t) - (q.ra + (q.rb - q.ra) * t) + kRound;
      const float top = std::fabs(h) - q.r.x + kRound;
      const float outside_side = std::max(side, 0.0F);
      const float outside_top = std::max(top, 0.0F);
      return std::min(std::max(side, top), 0.0F) +
             std::sqrt(outside_side * outside_side + outside_top * outside_top) - kRound;
    }
  }
  return 0;
}

void Field::finish() {
  std::stable_sort(primitives.begin(), primitives.end(),
                   [](const Primitive& x, const Primitive& y) { return x.group < y.group; });
  for (Primitive& q : primitives) {
    if (q.shape == Shape::Ellipsoid) {
      q.center = q.a;
      q.half = {0, 0, 0};
      q.inverse_r = {1.0F / q.r.x, 1.0F / q.r.y, 1.0F / q.r.z};
      q.reach = std::max(q.r.x, std::max(q.r.y, q.r.z));
      continue;
    }
    q.axis = q.b - q.a;
    q.inverse_length_squared = 1.0F / std::max(dot(q.axis, q.axis), 1e-9F);
    q.center = (q.a + q.b) * 0.5F;
    q.half = q.axis * 0.5F;
    q.reach = std::max(q.ra, q.rb) + q.cloth + (q.shape == Shape::Slab ? q.r.x : 0.0F);
  }
}

float Field::distance(Vec p, std::span<const std::uint16_t> active) const {
  float total = 1e9F;
  float group_distance = 1e9F;
  int group = -1;
  for (const std::uint16_t index : active) {
    const Primitive& q = primitives[index];
    const float d = primitive_distance(q, p);
    if (q.group != group) {
      if (group >= 0) {
        total = smooth_min(total, group_distance, join[static_cast<std::size_t>(group)]);
      }
      group = q.group;
      group_distance = d;
    } else {
      group_distance = smooth_min(group_distance, d, q.blend);
    }
  }
  if (group >= 0) total = smooth_min(total, group_distance, join[static_cast<std::size_t>(group)]);
  return total;
}

Hit Field::nearest(Vec p, std::span<const std::uint16_t> active) const {
  Hit best{1e9F, -1};
  for (const std::uint16_t index : active) {
    const float d = primitive_distance(primitives[index], p);
    if (d < best.distance) best = {d, index};
  }
  return best;
}

Vec Field::normal(Vec p, std::span<const std::uint16_t> active) const {
  constexpr float kStep = 0.0012F;
  constexpr std::array<Vec, 4> kCorners{{{1, -1, -1}, {-1, -1, 1}, {-1, 1, -1}, {1, 1, 1}}};
  Vec n;
  for (const Vec& corner : kCorners) n = n + corner * distance(p + corner * kStep, active);
  return normalized(n);
}

const Material& Field::material_at(Vec p, int primitive) const {
  const Primitive& q = primitives[static_cast<std::size_t>(primitive)];
  const bool beyond = q.shape != Shape::Ellipsoid && q.cut <= 1.5F &&
                      dot(p - q.a, q.axis) * q.inverse_length_squared > q.cut;
  return materials[beyond ? q.material_beyond : q.material];
}

std::vector<std::uint16_t> Field::all() const {
  std::vector<std::uint16_t> indices(primitives.size());
  std::iota(indices.begin(), indices.end(), std::uint16_t{0});
  return indices;
}

void Field::cull(Vec origin, Vec direction, float slope, std::span<const std::uint16_t> candidates,
                 std::vector<std::uint16_t>& active, float& near, float& far) const {
  active.clear();
  near = std::numeric_limits<float>::max();
  far = 0;
  for (const std::uint16_t index : candidates) {
    const Primitive& q = primitives[index];
    // Closest approach of the cone's axis to the segment center +- half.
    const Vec w = q.center - origin;
    const float b = dot(direction, q.half);
    const float hh = dot(q.half, q.half);
    const float dw = dot(direction, w);
    const float hw = dot(q.half, w);
    const float denominator = hh - b * b;
    float s = denominator > 1e-9F ? (b * dw - hw) / denominator : 0;
    s = std::clamp(s, -1.0F, 1.0F);
    const Vec on_segment = w + q.half * s;
    const float t = dot(on_segment, direction);
    const float gap = length(on_segment - direction * t);
    const float reach = q.reach + kMargin + 0.9F * q.blend;
    if (gap > reach + slope * (t + reach)) continue;
    active.push_back(index);
    const float extent = q.reach + kBulge + std::fabs(b);
    near = std::min(near, dw - extent);
    far = std::max(far, dw + extent);
  }
  near = std::max(near, 0.1F);
}

}  // namespace lintel::demo
