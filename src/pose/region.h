// The square, turned part of the picture that the landmark network looks at.
#pragma once

#include <Eigen/Core>

namespace lintel::pose {

inline constexpr int kCropSide = 256;  // pixels of the landmark network's input

// All in px of the picture (x right, y down); may reach outside of it.
struct Region {
  Eigen::Vector2f center_px = {0, 0};
  float side_px = 0;
  float angle = 0;  // [rad] of the crop's x axis from the picture's x towards its y, (-pi, pi]

  // Crop point (u, v) in 0..256 to the picture and back: p = C + R(angle) ((u, v) - 128) side/256.
  Eigen::Vector2f to_picture(const Eigen::Vector2f& crop_point) const;
  Eigen::Vector2f to_crop(const Eigen::Vector2f& picture_point) const;
  float scale() const { return side_px / static_cast<float>(kCropSide); }  // picture px a crop px
  bool valid() const;  // finite and not vanishing
};

// Region about center whose upward direction points to size_point, 2.5 times their distance wide:
// what the networks were trained with.
Region region_from(const Eigen::Vector2f& center_px, const Eigen::Vector2f& size_point_px);

}  // namespace lintel::pose
