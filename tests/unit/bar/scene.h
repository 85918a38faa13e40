// Draws a side view of a bar with known truth. Independent of src/bar: shapes are exact regions,
// each pixel's coverage is the share of 8x8 points inside, colours mix in linear light, then sRGB,
// then sensor noise, then JPEG.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <vector>

#include <Eigen/Core>

#include "base/image.h"

namespace lintel::bar_test {

using Color = std::array<float, 3>;  // linear light, blue green red, 0..1

Color grey(double encoded);                        // encoded 0..255 sRGB
Color rgb(double red, double green, double blue);  // encoded 0..255 sRGB

// A region of the picture plane [px]: `inside` decides for a point, `box` bounds it.
struct Shape {
  std::function<bool(double, double)> inside;
  double left = 0, top = 0, right = 0, bottom = 0;
  Color color{};
};
Shape ellipse(const Eigen::Vector2d& center, double semi_x, double semi_y, double angle,
              Color color);
Shape capsule(const Eigen::Vector2d& a, const Eigen::Vector2d& b, double radius, Color color);
Shape rectangle(double left, double top, double right, double bottom, Color color);

class LightPicture {
 public:
  LightPicture(int width, int height);
  int width() const { return width_; }
  int height() const { return height_; }
  float* at(int x, int y) {
    return data_.data() + 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) +
                               static_cast<std::size_t>(x));
  }
  const float* at(int x, int y) const {
    return data_.data() + 3 * (static_cast<std::size_t>(y) * static_cast<std::size_t>(width_) +
                               static_cast<std::size_t>(x));
  }
  void draw(const Shape& shape);

 private:
  int width_, height_;
  std::vector<float> data_;
};

struct DiscLook {
  double radius = 108;
  double turn = 0;  // [rad] camera off square: horizontal semi-axis = radius cos(turn)
  Color face = grey(40);
  Color lip = grey(75);      // ring between 0.88 and 0.93 of the radius
  Color rim = grey(40);      // outermost ring
  Color hub = grey(150);     // under 0.42
  Color sleeve = grey(200);  // under 0.11
};

struct SceneOptions {
  int width = 720, height = 1280;
  DiscLook disc;
  bool with_disc = true;
  bool far_disc = true;
  bool head_and_arm_in_front = false;
  double wall = 190;             // encoded grey of the wall
  double texture = 6;            // encoded amplitude
  double motion_blur_px = 0;     // vertical, box
  double optical_blur_px = 0.6;  // Gaussian standard deviation
  double noise = 1.5;            // encoded standard deviation
  int jpeg_quality = 0;          // 0: none
  std::uint64_t seed = 1;
};

// Wall with texture, posts, a clock, the floor and a body under the bar, for a disc at `center`.
// The true ellipse is the drawn one. Hints: shoulder, hip and wrist as drawn.
struct Drawn {
  Image image;
  Eigen::Vector2d shoulder, hip, wrist;
};
class Scene {
 public:
  explicit Scene(const SceneOptions& options);
  Drawn render(const Eigen::Vector2d& center, std::uint64_t frame) const;

 private:
  SceneOptions options_;
  LightPicture background_;
};

// A disc seen by a pinhole camera, sampled 8x8 a pixel by intersecting viewing rays with the disc.
Image render_pinhole_disc(int width, int height, double focal_px, const Eigen::Vector3d& p_CD,
                          const Eigen::Vector3d& n_C, double radius);

Image jpeg_round_trip(const Image& image, int quality);

}  // namespace lintel::bar_test
