// Finds whole persons in a picture. Inside this module; users go through PoseEstimator.
#pragma once

#include <vector>

#include "base/image.h"
#include "pose/detection.h"
#include "pose/network.h"

namespace lintel::pose {

// Not thread-safe; independent of any LandmarkNetwork.
class PersonDetector {
 public:
  static Result<PersonDetector> create(const std::filesystem::path& models);
  // Persons with score >= lowest_score, best first, in px of the picture.
  Result<std::vector<Person>> detect(const Image& picture, float lowest_score);

 private:
  explicit PersonDetector(Network network);
  Network network_;
  std::vector<Eigen::Vector2f> anchors_;
  cv::Mat input_;
};

}  // namespace lintel::pose
