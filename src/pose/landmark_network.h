// Landmarks of one person inside a region. Inside this module; users go through PoseEstimator.
#pragma once

#include "base/image.h"
#include "pose/landmark_result.h"
#include "pose/network.h"

namespace lintel::pose {

// Not thread-safe; independent of any PersonDetector.
class LandmarkNetwork {
 public:
  static Result<LandmarkNetwork> create(const std::filesystem::path& models, Variant variant,
                                        DepthwiseForm depthwise = DepthwiseForm::OwnLayer);
  Result<LandmarkResult> run(const Image& picture, const Region& region);

 private:
  explicit LandmarkNetwork(Network network);
  Network network_;
  cv::Mat crop_;
  cv::Mat input_;
};

// The crop of the picture that the network sees (8-bit, 256 x 256, black outside the picture).
Result<Image> crop_region(const Image& picture, const Region& region);

}  // namespace lintel::pose
