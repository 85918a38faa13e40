#include "demo/room.h"

#include <algorithm>
#include <cmath>

namespace lintel::demo {

namespace {

constexpr float kHalfLength = 4.6F;  // walls at x = +-, z = +- [m]
constexpr float kHalfWidth = 3.4F;
constexpr float kCeiling = 3.9F;
constexpr float kFarWall = 12.0F;  // beyond the camera: never seen

std::uint32_t hash(std::int32_t x, std::int32_t y) {
  auto h =
      static_cast<std::uint32_t>(x) * 0x8da6b343U ^ static_cast<std::uint32_t>(y) * 0xd8163841U;
  h ^= h >> 13;
  h *= 0x9e3779b1U;
  h ^= h >> 16;
  return h;
}
float cell_noise(float x, float y, float size) {
  const auto i = static_cast<std::int32_t>(std::floor(x / size));
  const auto j = static_cast<std::int32_t>(std::floor(y / size));
  return static_cast<float>(hash(i, j) & 0xffffU) / 65535.0F;
}
Color scaled(Color c, float s) {
  return {c.r * s, c.g * s, c.b * s};
}
Color blended(Color a, Color b, float s) {
  return {mix(a.r, b.r, s), mix(a.g, b.g, s), mix(a.b, b.b, s)};
}

Color floor_color(const RoomSpec& spec, float x, float z) {
  const bool platform = std::fabs(x) < 1.5F && std::fabs(z) < 1.5F;
  const bool wood = platform && std::fabs(z) < 0.62F;
  Color c = spec.floor;
  if (wood) {
    const float board = cell_noise(7.0F, z + 20.0F, 0.155F);
    const float grain = 0.5F * cell_noise(x, z, 0.007F) + 0.5F * cell_noise(x * 0.2F, z, 0.011F);
    c = scaled(spec.platform, 0.86F + 0.16F * board + 0.06F * (grain - 0.5F));
    const float joint = std::fabs(std::fmod(z + 20.0F, 0.155F) - 0.0775F);
    if (joint > 0.0745F) c = scaled(c, 0.72F);
  } else {
    const float speck = cell_noise(x, z, 0.012F);
    const float patch = cell_noise(x + 3.1F, z, 0.05F);
    c = scaled(c, 0.94F + 0.10F * (patch - 0.5F));
    if (speck > 0.93F) c = blended(c, srgb(150, 158, 166), 0.45F);
    if (platform) c = scaled(c, 0.72F);
  }
  const float edge = std::max(std::fabs(x), std::fabs(z));
  if (edge > 1.485F && edge < 1.515F) c = scaled(c, 0.55F);
  return c;
}

Color wall_color(const RoomSpec& spec, float along, float y) {
  if (y < 0.10F) return srgb(58, 60, 64);
  Color c = y < 1.25F ? spec.wall_low : spec.wall_high;
  if (y > 1.25F && y < 1.31F) c = spec.band;
  // A painted line of waves, the sign of a harbour town.
  const float wave = 2.62F + 0.05F * std::sin(along * 5.2F);
  if (std::fabs(y - wave) < 0.022F) c = blended(c, spec.wall_low, 0.75F);
  if (std::fabs(y - wave + 0.11F) < 0.014F) c = blended(c, spec.wall_low, 0.45F);
  const float plaster = cell_noise(along, y, 0.03F) - 0.5F;
  return scaled(c, 1.0F + 0.02F * plaster);
}

Color shade_room(const RoomSpec& spec, Vec origin, Vec d) {
  float best = 1e9F;
  int surface = 0;
  const auto offer = [&](float t, int s) {
    if (t > 1e-3F && t < best) {
      best = t;
      surface = s;
    }
  };
  offer(-origin.y / d.y, 0);
  offer((kCeiling - origin.y) / d.y, 1);
  const auto wall = [&](float limit, float o, float direction) {
    // A wall behind the camera is moved away, so that the camera stands inside.
    return ((direction > 0 ? std::max(limit, o + 1.0F) : std::min(-limit, o - 1.0F)) - o) /
           direction;
  };
  if (std::fabs(d.x) > 1e-6F) {
    offer(wall(std::fabs(origin.x) > kHalfLength && origin.x * d.x > 0 ? kFarWall : kHalfLength,
               origin.x, d.x),
          2);
  }
  if (std::fabs(d.z) > 1e-6F) {
    offer(wall(std::fabs(origin.z) > kHalfWidth && origin.z * d.z > 0 ? kFarWall : kHalfWidth,
               origin.z, d.z),
          3);
  }
  const Vec p = origin + d * best;
  if (surface == 0) {
    const float far = std::sqrt(p.x * p.x + p.z * p.z);
    const float corner = smoothstep(0.0F, 0.9F, kHalfWidth - std::fabs(p.z));
    return scaled(floor_color(spec, p.x, p.z),
                  1.02F * (0.72F + 0.28F * corner) / (1.0F + 0.01F * far * far));
  }
  if (surface == 1) return scaled(srgb(226, 224, 216), 0.8F);
  const float along = surface == 2 ? p.z : p.x;
  const float light = 0.66F + 0.26F * smoothstep(0.0F, 2.6F, p.y);
  const float middle = 1.0F - 0.05F * along * along * 0.25F;
  return scaled(wall_color(spec, along, p.y), light * std::max(0.55F, middle));
}

}  // namespace

std::vector<Color> render_room(const RoomSpec& spec, const Camera& camera) {
  constexpr int kSamples = 3;  // a side of the pixel's grid
  std::vector<Color> picture(static_cast<std::size_t>(camera.width_px) *
                             static_cast<std::size_t>(camera.height_px));
  const Vec origin = to_vec(camera.position);
  std::size_t index = 0;
  for (int y = 0; y < camera.height_px; ++y) {
    for (int x = 0; x < camera.width_px; ++x, ++index) {
      Color sum;
      for (int j = 0; j < kSamples; ++j) {
        for (int i = 0; i < kSamples; ++i) {
          const Vec d = to_vec(camera.ray(x + (i + 0.5) / kSamples, y + (j + 0.5) / kSamples));
          const Color c = shade_room(spec, origin, d);
          sum.r += c.r;
          sum.g += c.g;
          sum.b += c.b;
        }
      }
      picture[index] = scaled(sum, 1.0F / (kSamples * kSamples));
    }
  }
  return picture;
}

}  // namespace lintel::demo
