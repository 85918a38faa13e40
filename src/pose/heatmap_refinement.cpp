#include "pose/heatmap_refinement.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace lintel::pose {
namespace {

constexpr int kReach = 3;  // cells to each side: 7 x 7
constexpr int kRounds = 3;

int cell_of(float position) {
  const float cell = std::round(position / kCellSide);
  return static_cast<int>(std::clamp(cell, -10'000.0F, 10'000.0F));
}

}  // namespace

float sigmoid(float logit) {
  return 1.0F / (1.0F + std::exp(-std::clamp(logit, -100.0F, 100.0F)));
}

RefinedPoint refine_landmark(std::span<const float> logits, const Eigen::Vector2f& regressed) {
  RefinedPoint result;
  result.position = regressed;
  if (!regressed.allFinite()) return result;
  for (int round = 0; round < kRounds; ++round) {
    const int center_i = cell_of(result.position.x());
    const int center_j = cell_of(result.position.y());
    float peak = 0;
    float sum = 0;
    Eigen::Vector2f moment(0, 0);
    for (int j = std::max(center_j - kReach, 0); j <= std::min(center_j + kReach, kHeatmapSide - 1);
         ++j) {
      for (int i = std::max(center_i - kReach, 0);
           i <= std::min(center_i + kReach, kHeatmapSide - 1); ++i) {
        const float h = sigmoid(logits[static_cast<std::size_t>(j * kHeatmapSide + i)]);
        peak = std::max(peak, h);
        sum += h;
        moment += h * kCellSide * Eigen::Vector2f(static_cast<float>(i), static_cast<float>(j));
      }
    }
    if (round == 0) result.peak = peak;
    if (!(peak >= kLowestPeak)) break;  // also where the window is empty
    result.position = moment / sum;
    result.peak = std::max(result.peak, peak);
    result.refined = true;
  }
  return result;
}

}  // namespace lintel::pose
