// Edges along rays across a rim: the first half of rim.cpp. Internal to src/bar.
#pragma once

#include <array>
#include <span>
#include <vector>

#include "bar/ellipse_fit.h"
#include "base/image.h"

namespace lintel::bar {

inline constexpr double kStep = 0.5;   // [px] between samples of a ray
inline constexpr int kKernelHalf = 5;  // samples to each side of the derivative kernel
inline constexpr int kMaxHalf = 48;    // samples to each side of the start: 24 px
inline constexpr int kMaxSamples = 2 * (kMaxHalf + kKernelHalf) + 1;
using Samples = std::array<float, kMaxSamples>;

struct Edge {
  double offset_px = 0;  // along the ray from the start ellipse, outwards
  double width_px = 0;   // of a ramp with the same spread
  double step = 0;       // [grey levels]
  Eigen::Vector2d position_px = {0, 0};
};

struct Ray {
  double angle = 0;
  Eigen::Vector2d origin = {0, 0};
  Eigen::Vector2d direction = {1, 0};
  bool in_picture = false;
  int first = 0, last = -1;  // samples that have a derivative
  int middle = 0;            // sample at offset 0
  std::array<Samples, 3> light;
  std::array<Samples, 3> slope;  // of the light, per px
  Samples strength;              // |slope| of the encoded colour [grey levels/px]
  std::vector<Edge> edges;
};

// Samples the picture along `count` rays normal to the ellipse, evenly round it, to half_windows[i]
// pixels on each side (one value for all, or one a ray), and finds the edges on each: strongest
// first, at most four, those whose gradient points along the ray and stands out of noise and
// texture.
std::vector<Ray> read_rays(const Image& image, const Ellipse& ellipse, int count,
                           std::span<const double> half_windows);

}  // namespace lintel::bar
