#include "demo/renderer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <span>

#include "base/random.h"

namespace lintel::demo {

namespace {

constexpr int kTile = 8;   // [px]
constexpr int kBlock = 4;  // tiles a side of a block; blocks are culled first
constexpr int kSteps = 40;
constexpr float kFar = 1e9F;

struct Sample {
  Color color;
  float distance = kFar;
  std::uint8_t id = 0;  // 0 = room
};

struct TileWork {
  std::vector<std::uint16_t> active;
  float near = 0, far = 0;
  std::vector<std::uint16_t> cylinders;
};

Color scaled(Color c, float s) {
  return {c.r * s, c.g * s, c.b * s};
}

class FrameRenderer {
 public:
  FrameRenderer(const Scene& scene, const Camera& camera, const std::vector<Color>& room,
                const Light& light)
      : scene_(scene),
        camera_(camera),
        room_(room),
        light_(light),
        origin_(to_vec(camera.position)) {
    for (int i = 0; i < 3; ++i) {
      const Eigen::Vector3d row = camera.R_CW.row(i);
      axis_[static_cast<std::size_t>(i)] = to_vec(row);
    }
    // The key light comes from above the camera's left shoulder.
    key_ = normalized(Vec{0, 1.15F, 0} - axis_[2] * 0.75F - axis_[0] * 0.55F);
    half_ = normalized(key_ - axis_[2]);
    pixel_ = 1.0F / static_cast<float>(camera.focal_px);
  }

  void draw(std::vector<Sample>& picture);
  void smooth_edges(std::vector<Sample>& picture);

 private:
  Vec ray(float x, float y) const {
    const float u = (x - 0.5F * static_cast<float>(camera_.width_px)) * pixel_;
    const float v = (y - 0.5F * static_cast<float>(camera_.height_px)) * pixel_;
    return normalized(axis_[2] + axis_[0] * u + axis_[1] * v);
  }
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(camera_.width_px) +
           static_cast<std::size_t>(x);
  }
  void prepare(float center_x, float center_y, int side, std::span<const std::uint16_t> candidates,
               TileWork& work) const;
  void approach(float center_x, float center_y, TileWork& work) const;
  void draw_block(int tile_x, int tile_y, std::span<const std::uint16_t> candidates,
                  std::vector<Sample>& picture);
  void draw_tile(int tile_x, int tile_y, const TileWork& work, std::vector<Sample>& picture) const;
  Sample trace(float x, float y, int px, int py, const TileWork& work) const;
  Sample background(Vec d, int px, int py) const;
  bool hit_cylinder(const Cylinder& c, Vec d, float& t, Vec& n, Color& color,
                    std::uint8_t& id) const;
  Color lit(Color albedo, Vec n, Vec d, float gloss, float openness) const;

  const Scene& scene_;
  const Camera& camera_;
  const std::vector<Color>& room_;
  const Light& light_;
  Vec origin_;
  std::array<Vec, 3> axis_;
  Vec key_, half_;
  float pixel_ = 0;
  std::vector<TileWork> tiles_;
  int tiles_x_ = 0;
  int tiles_y_ = 0;
};

void FrameRenderer::prepare(float center_x, float center_y, int side,
                            std::span<const std::uint16_t> candidates, TileWork& work) const {
  const Vec d = ray(center_x, center_y);
  const float slope = 0.7072F * static_cast<float>(side) * pixel_ * 1.02F;
  scene_.field.cull(origin_, d, slope, candidates, work.active, work.near, work.far);
  work.cylinders.clear();
  for (std::size_t i = 0; i < scene_.cylinders.size(); ++i) {
    const Cylinder& c = scene_.cylinders[i];
    const Vec half = (c.b - c.a) * 0.5F;
    const Vec w = (c.a + c.b) * 0.5F - origin_;
    const float b = dot(d, half);
    const float denominator = dot(half, half) - b * b;
    float s = denominator > 1e-9F ? (b * dot(d, w) - dot(half, w)) / denominator : 0;
    s = std::clamp(s, -1.0F, 1.0F);
    const Vec on = w + half * s;
    const float t = dot(on, d);
    const float reach = c.radius + 0.01F;
    if (length(on - d * t) <= reach + slope * (t + reach)) {
      work.cylinders.push_back(static_cast<std::uint16_t>(i));
    }
  }
}

bool FrameRenderer::hit_cylinder(const Cylinder& c, Vec d, float& t, Vec& n, Color& color,
                                 std::uint8_t& id) const {
  const Vec axis = c.b - c.a;
  const float height = length(axis);
  const Vec u = axis * (1.0F / height);
  const Vec w = origin_ - c.a;
  const float du = dot(d, u);
  const float wu = dot(w, u);
  const Vec dp = d - u * du;
  const Vec wp = w - u * wu;
  const float a = dot(dp, dp);
  const float b = dot(dp, wp);
  const float k = dot(wp, wp) - c.radius * c.radius;
  bool found = false;
  const float discriminant = b * b - a * k;
  if (discriminant > 0 && a > 1e-9F) {
    const float s = (-b - std::sqrt(discriminant)) / a;
    const float h = wu + s * du;
    if (s > 0 && s < t && h >= 0 && h <= height) {
      t = s;
      n = (wp + dp * s) * (1.0F / c.radius);
      color = c.side.color;
      id = c.side.id;
      found = true;
    }
  }
  if (std::fabs(du) > 1e-6F) {
    const bool far_end = du < 0;
    const float s = ((far_end ? height : 0.0F) - wu) / du;
    const Vec p = wp + dp * s;
    const float rr = dot(p, p);
    if (s > 0 && s < t && rr <= c.radius * c.radius) {
      t = s;
      n = far_end ? u : -u;
      color = c.face.color;
      id = static_cast<std::uint8_t>(c.face.id + 20);
      if (c.disc) {
        const float r = std::sqrt(rr) / c.radius;
        if (r > 0.93F) {
          color = scaled(color, 0.80F);
          id = static_cast<std::uint8_t>(id + 1);
        } else if (r > 0.895F) {
          color = scaled(color, 0.55F);
          id = static_cast<std::uint8_t>(id + 2);
        } else if (r < 0.25F) {
          color = c.hub;
          id = static_cast<std::uint8_t>(id + 3);
        } else if (r < 0.285F) {
          color = scaled(color, 0.6F);
          id = static_cast<std::uint8_t>(id + 4);
        } else if (r > 0.62F && r < 0.66F) {
          color = {mix(color.r, 0.85F, 0.75F), mix(color.g, 0.85F, 0.75F),
                   mix(color.b, 0.83F, 0.75F)};
          id = static_cast<std::uint8_t>(id + 5);
        }
      }
      found = true;
    }
  }
  return found;
}

Color FrameRenderer::lit(Color albedo, Vec n, Vec d, float gloss, float openness) const {
  const float diffuse = clamp01(dot(n, key_) * 0.82F + 0.18F);
  const float sky = 0.5F + 0.5F * n.y;
  const float facing = clamp01(-dot(n, d));
  const float shine = std::pow(clamp01(dot(n, half_)), 24.0F) * gloss;
  const float rim = (1 - facing) * (1 - facing) * 0.10F;
  const float ambient = light_.ambient * (0.62F + 0.5F * sky) * openness;
  const float direct = (1.08F - light_.ambient) * 1.30F * diffuse * (0.45F + 0.55F * openness);
  const float level = ambient + direct;
  return {albedo.r * level + shine + rim * albedo.r, albedo.g * level + shine + rim * albedo.g,
          albedo.b * level + shine + rim * albedo.b};
}

Sample FrameRenderer::background(Vec d, int px, int py) const {
  Sample s;
  s.color = room_[index(px, py)];
  if (d.y >= -1e-4F) return s;
  const float t = -origin_.y / d.y;
  const float x = origin_.x + d.x * t;
  const float z = origin_.z + d.z * t;
  float light = 1;
  for (const FloorShade& shade : scene_.shades) {
    const float u = (x - shade.x) / shade.radius_x;
    const float v = (z - shade.z) / shade.radius_z;
    const float q = u * u + v * v;
    if (q < 6.0F) light *= 1 - shade.strength * std::exp(-q);
  }
  s.color = scaled(s.color, light);
  return s;
}

Sample FrameRenderer::trace(float x, float y, int px, int py, const TileWork& work) const {
  const Vec d = ray(x, y);
  float limit = kFar;
  Vec n;
  Color color;
  std::uint8_t id = 0;
  float gloss = 0;
  bool solid = false;
  for (const std::uint16_t i : work.cylinders) {
    if (hit_cylinder(scene_.cylinders[i], d, limit, n, color, id)) {
      solid = true;
      gloss = scene_.cylinders[i].side.gloss;
    }
  }
  float t = work.near;
  const float end = work.active.empty() ? 0.0F : std::min(limit, work.far);
  for (int step = 0; step < kSteps && t < end; ++step) {
    const Vec p = origin_ + d * t;
    const float distance = scene_.field.distance(p, work.active);
    if (distance < 0.35F * pixel_ * t) {
      const Hit hit = scene_.field.nearest(p, work.active);
      const Material& m = scene_.field.material_at(p, hit.primitive);
      const Vec normal = scene_.field.normal(p, work.active);
      const float open_near = scene_.field.distance(p + normal * 0.025F, work.active) / 0.025F;
      const float open_far = scene_.field.distance(p + normal * 0.07F, work.active) / 0.07F;
      const float openness = clamp01(0.30F + 0.35F * open_near + 0.35F * open_far);
      return {lit(m.color, normal, d, m.gloss, openness), t, m.id};
    }
    t += distance * 0.97F;
  }
  if (solid) return {lit(color, n, d, gloss, 1.0F), limit, id};
  return background(d, px, py);
}

// Moves the tile's near end up to where the cone of its rays first comes close to the figure.
void FrameRenderer::approach(float center_x, float center_y, TileWork& work) const {
  if (work.active.empty()) return;
  const Vec d = ray(center_x, center_y);
  const float slope = 0.7072F * kTile * pixel_ * 1.02F;
  float t = work.near;
  for (int step = 0; step < kSteps && t < work.far; ++step) {
    const float room = scene_.field.distance(origin_ + d * t, work.active) - slope * t;
    if (room < 0.004F) break;
    t += 0.95F * room;
  }
  work.near = t;
  if (t >= work.far) work.active.clear();
}

void FrameRenderer::draw_tile(int tile_x, int tile_y, const TileWork& work,
                              std::vector<Sample>& picture) const {
  const int x_end = std::min((tile_x + 1) * kTile, camera_.width_px);
  const int y_end = std::min((tile_y + 1) * kTile, camera_.height_px);
  for (int y = tile_y * kTile; y < y_end; ++y) {
    for (int x = tile_x * kTile; x < x_end; ++x) {
      picture[index(x, y)] =
          trace(static_cast<float>(x) + 0.5F, static_cast<float>(y) + 0.5F, x, y, work);
    }
  }
}

void FrameRenderer::draw_block(int tile_x, int tile_y, std::span<const std::uint16_t> candidates,
                               std::vector<Sample>& picture) {
  TileWork block;
  constexpr int kSide = kBlock * kTile;
  prepare(static_cast<float>(tile_x * kTile) + 0.5F * kSide,
          static_cast<float>(tile_y * kTile) + 0.5F * kSide, kSide, candidates, block);
  for (int ty = tile_y; ty < std::min(tile_y + kBlock, tiles_y_); ++ty) {
    for (int tx = tile_x; tx < std::min(tile_x + kBlock, tiles_x_); ++tx) {
      TileWork& work = tiles_[static_cast<std::size_t>(ty * tiles_x_ + tx)];
      prepare((static_cast<float>(tx) + 0.5F) * kTile, (static_cast<float>(ty) + 0.5F) * kTile,
              kTile, block.active, work);
      approach((static_cast<float>(tx) + 0.5F) * kTile, (static_cast<float>(ty) + 0.5F) * kTile,
               work);
      draw_tile(tx, ty, work, picture);
    }
  }
}

void FrameRenderer::draw(std::vector<Sample>& picture) {
  tiles_x_ = (camera_.width_px + kTile - 1) / kTile;
  tiles_y_ = (camera_.height_px + kTile - 1) / kTile;
  tiles_.resize(static_cast<std::size_t>(tiles_x_) * static_cast<std::size_t>(tiles_y_));
  const std::vector<std::uint16_t> all = scene_.field.all();
  for (int ty = 0; ty < tiles_y_; ty += kBlock) {
    for (int tx = 0; tx < tiles_x_; tx += kBlock) draw_block(tx, ty, all, picture);
  }
}

void FrameRenderer::smooth_edges(std::vector<Sample>& picture) {
  constexpr std::array<std::array<float, 2>, 4> kOffsets = {
      {{-0.125F, -0.375F}, {0.375F, -0.125F}, {0.125F, 0.375F}, {-0.375F, 0.125F}}};
  std::vector<std::uint8_t> edge(picture.size(), 0);
  for (int y = 0; y < camera_.height_px; ++y) {
    for (int x = 0; x < camera_.width_px; ++x) {
      const Sample& s = picture[index(x, y)];
      const auto differs = [&](const Sample& o) {
        return s.id != o.id || (s.id != 0 && std::fabs(s.distance - o.distance) > 0.03F);
      };
      if (x + 1 < camera_.width_px && differs(picture[index(x + 1, y)])) {
        edge[index(x, y)] = edge[index(x + 1, y)] = 1;
      }
      if (y + 1 < camera_.height_px && differs(picture[index(x, y + 1)])) {
        edge[index(x, y)] = edge[index(x, y + 1)] = 1;
      }
    }
  }
  for (int y = 0; y < camera_.height_px; ++y) {
    for (int x = 0; x < camera_.width_px; ++x) {
      if (edge[index(x, y)] == 0) continue;
      const TileWork& work = tiles_[static_cast<std::size_t>(y / kTile * tiles_x_ + x / kTile)];
      Color sum;
      for (const auto& offset : kOffsets) {
        const Color c = trace(static_cast<float>(x) + 0.5F + offset[0],
                              static_cast<float>(y) + 0.5F + offset[1], x, y, work)
                            .color;
        sum = {sum.r + c.r, sum.g + c.g, sum.b + c.b};
      }
      picture[index(x, y)].color = scaled(sum, 0.25F);
    }
  }
}

// Normal deviates, drawn once: a frame's noise starts at a seeded place for each row.
const std::array<float, 8192>& noise_table() {
  static const std::array<float, 8192> table = [] {
    std::array<float, 8192> t{};
    Random random(77, 5);
    for (float& v : t) v = static_cast<float>(random.normal());
    return t;
  }();
  return table;
}

// sRGB curve for 0..1 in 4096 steps.
const std::array<float, 4097>& tone_table() {
  static const std::array<float, 4097> table = [] {
    std::array<float, 4097> t{};
    for (std::size_t i = 0; i < t.size(); ++i) {
      t[i] = 255.0F * std::pow(static_cast<float>(i) / 4096.0F, 1.0F / 2.2F);
    }
    return t;
  }();
  return table;
}

std::uint8_t to_byte(float linear, float noise) {
  const float v = tone_table()[static_cast<std::size_t>(clamp01(linear) * 4096.0F)] + noise;
  return static_cast<std::uint8_t>(std::clamp(v + 0.5F, 0.0F, 255.0F));
}

}  // namespace

Image render_frame(const Scene& scene, const Camera& camera, const std::vector<Color>& room,
                   const Light& light, std::uint64_t noise_seed) {
  std::vector<Sample> picture(room.size());
  FrameRenderer renderer(scene, camera, room, light);
  renderer.draw(picture);
  renderer.smooth_edges(picture);
  Image image(camera.width_px, camera.height_px);
  Random random(noise_seed, 0x401);
  const auto& noise = noise_table();
  std::size_t index = 0;
  for (int y = 0; y < camera.height_px; ++y) {
    std::size_t place = random.next();
    std::uint8_t* out = image.row(y);
    for (int x = 0; x < camera.width_px; ++x, ++index, out += 3) {
      const Color& c = picture[index].color;
      const float common = noise[place++ & 8191U];
      const auto grain = [&] {
        return light.noise * (0.8F * common + 0.6F * noise[place++ & 8191U]);
      };
      out[0] = to_byte(c.b * light.gain * light.tint.b, grain());
      out[1] = to_byte(c.g * light.gain * light.tint.g, grain());
      out[2] = to_byte(c.r * light.gain * light.tint.r, grain());
    }
  }
  return image;
}

}  // namespace lintel::demo
