#include "pose/pose_estimator.h"

#include <opencv2/core.hpp>
#include <optional>
#include <utility>

#include "pose/landmark_network.h"
#include "pose/person_detector.h"

namespace lintel::pose {

struct PoseEstimator::Parts {
  std::filesystem::path models;
  Variant variant;
  int threads;
  Layers layers;
  LandmarkNetwork landmarks;
  std::optional<PersonDetector> detector;
};

PoseEstimator::PoseEstimator(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}
PoseEstimator::PoseEstimator(PoseEstimator&&) noexcept = default;
PoseEstimator& PoseEstimator::operator=(PoseEstimator&&) noexcept = default;
PoseEstimator::~PoseEstimator() = default;

Result<PoseEstimator> PoseEstimator::create(const std::filesystem::path& models, Variant variant,
                                            int threads, Layers layers) {
  if (threads < 1 || threads > 256) {
    return fail(ErrorCode::Invalid, "the number of threads must be 1 to 256");
  }
  cv::setNumThreads(threads);
  const DepthwiseForm depthwise =
      layers == Layers::Fastest ? DepthwiseForm::OwnLayer : DepthwiseForm::Standard;
  LandmarkNetwork network = LINTEL_TRY(LandmarkNetwork::create(models, variant, depthwise));
  return PoseEstimator(std::unique_ptr<Parts>(
      new Parts{models, variant, threads, layers, std::move(network), std::nullopt}));
}

Result<PoseEstimator> PoseEstimator::duplicate() const {
  return create(parts_->models, parts_->variant, parts_->threads, parts_->layers);
}

Result<std::vector<Person>> PoseEstimator::detect(const Image& picture, float lowest_score) {
  if (!parts_->detector) {
    parts_->detector.emplace(LINTEL_TRY(PersonDetector::create(parts_->models)));
  }
  return parts_->detector->detect(picture, lowest_score);
}

Result<LandmarkResult> PoseEstimator::landmarks(const Image& picture, const Region& region) {
  return parts_->landmarks.run(picture, region);
}

Variant PoseEstimator::variant() const {
  return parts_->variant;
}

}  // namespace lintel::pose
