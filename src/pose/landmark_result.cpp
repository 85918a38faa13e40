#include "pose/landmark_result.h"

#include <algorithm>

#include "pose/heatmap_refinement.h"

namespace lintel::pose {

float landmark_confidence(float peak, bool refined, const Eigen::Vector2f& position_px,
                          float region_side_px, int picture_width, int picture_height) {
  constexpr float kFade = 0.02F;
  if (!position_px.allFinite()) return 0;
  const Eigen::Vector2f high(static_cast<float>(picture_width), static_cast<float>(picture_height));
  const float outside = std::max({-position_px.x(), -position_px.y(), position_px.x() - high.x(),
                                  position_px.y() - high.y(), 0.0F});
  const float inside = std::clamp(1 - outside / std::max(kFade * region_side_px, 1.0F), 0.0F, 1.0F);
  return std::clamp(peak, 0.0F, 1.0F) * (refined ? 1.0F : 0.5F) * inside;
}

LandmarkResult decode_landmarks(std::span<const float> values, float presence,
                                std::span<const float> heatmaps, const Region& region,
                                int picture_width, int picture_height) {
  constexpr std::size_t kValues = 5;
  constexpr std::size_t kCells = static_cast<std::size_t>(kHeatmapSide) * kHeatmapSide;
  LandmarkResult result;
  result.region = region;
  result.body.presence = std::clamp(presence, 0.0F, 1.0F);
  for (std::size_t k = 0; k < kinematics::kLandmarkCount; ++k) {
    const std::span<const float> v = values.subspan(k * kValues, kValues);
    const Eigen::Vector2f regressed(v[0], v[1]);
    const RefinedPoint refined = refine_landmark(heatmaps.subspan(k * kCells, kCells), regressed);
    kinematics::LandmarkObservation& landmark = result.body.landmarks[k];
    landmark.position_px = region.to_picture(refined.position);
    landmark.regressed_px = region.to_picture(regressed);
    landmark.depth_px = v[2] * region.scale();
    landmark.visibility = sigmoid(v[3]);
    landmark.refined = refined.refined;
    landmark.confidence = landmark_confidence(refined.peak, refined.refined, landmark.position_px,
                                              region.side_px, picture_width, picture_height);
    result.heatmap_peak[k] = refined.peak;
  }
  result.next_center_px = region.to_picture({values[33 * kValues], values[33 * kValues + 1]});
  result.next_size_point_px = region.to_picture({values[34 * kValues], values[34 * kValues + 1]});
  return result;
}

}  // namespace lintel::pose
