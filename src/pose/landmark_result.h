// What the landmark network says about one region, in px of the picture.
#pragma once

#include <array>
#include <span>

#include "kinematics/observation.h"
#include "pose/region.h"

namespace lintel::pose {

struct LandmarkResult {
  kinematics::BodyObservation body;
  std::array<float, kinematics::kLandmarkCount> heatmap_peak{};  // 0..1
  Eigen::Vector2f next_center_px = {0, 0};      // auxiliary points 33 and 34, unrefined:
  Eigen::Vector2f next_size_point_px = {0, 0};  // they make the next frame's region
  Region region;                                // that was looked at

  Region next_region() const { return region_from(next_center_px, next_size_point_px); }
};

// Below this body flag a tracked person counts as lost.
inline constexpr float kLowestPresence = 0.5F;

// Raw outputs to a result: values 39 x (x, y, z, visibility logit, presence logit) in crop px,
// presence 0..1 as the network gives it (already through a sigmoid), heatmaps 39 x 64 x 64 logits.
LandmarkResult decode_landmarks(std::span<const float> values, float presence,
                                std::span<const float> heatmaps, const Region& region,
                                int picture_width, int picture_height);

// 0..1: the heatmap's peak, halved where it could not be used to refine, fading to zero within
// 2 % of the region's side outside the picture: the network always answers, also for joints that
// are not to be seen. No probability; a working rule of ours.
float landmark_confidence(float peak, bool refined, const Eigen::Vector2f& position_px,
                          float region_side_px, int picture_width, int picture_height);

}  // namespace lintel::pose
