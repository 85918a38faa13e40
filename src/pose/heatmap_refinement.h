// Moves a regressed landmark onto the peak of its heatmap.
#pragma once

#include <span>

#include <Eigen/Core>

namespace lintel::pose {

inline constexpr int kHeatmapSide = 64;     // cells
inline constexpr float kCellSide = 4.0F;    // crop px a cell
inline constexpr float kLowestPeak = 0.3F;  // below it the heatmap says nothing

struct RefinedPoint {
  Eigen::Vector2f position = {0, 0};  // crop px
  float peak = 0;                     // 0..1, highest heatmap value that was looked at
  bool refined = false;
};

// Three rounds of the weighted mean of a 7x7 window, from the regressed place (crop px 0..256).
// logits: 64 x 64, row-major; a cell's value is its sigmoid, and it stands for the point (4 i, 4
// j), not for the middle of its 4x4 pixels: measured on rendered figures that face either way and
// on their mirror images, the middle puts every refined landmark 2 crop px too far right and low.
RefinedPoint refine_landmark(std::span<const float> logits, const Eigen::Vector2f& regressed);

float sigmoid(float logit);

}  // namespace lintel::pose
