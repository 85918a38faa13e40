#include "pose/landmark_network.h"

#include <array>
#include <cmath>
#include <cstring>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "pose/heatmap_refinement.h"
#include "pose/picture_input.h"

namespace lintel::pose {
namespace {

constexpr std::size_t kLandmarks = 39;  // 33 of the body, 6 auxiliary
// Segmentation (65536) and metric landmarks (117) are cut off: they cost time and are not used.
constexpr std::array<std::size_t, 3> kOutputs = {
    kLandmarks * 5, 1, kLandmarks* static_cast<std::size_t>(kHeatmapSide) * kHeatmapSide};

// One resampling with pixel centres at (u + 0.5, v + 0.5), as Region says; OpenCV has them at
// whole numbers.
void warp_crop(const Image& picture, const Region& region, cv::Mat& crop) {
  const float c = std::cos(region.angle) * region.scale();
  const float s = std::sin(region.angle) * region.scale();
  const Eigen::Vector2f origin =
      region.to_picture(Eigen::Vector2f(0.5F, 0.5F)) - Eigen::Vector2f(0.5F, 0.5F);
  const cv::Matx23f to_picture(c, -s, origin.x(), s, c, origin.y());
  cv::warpAffine(view_of(picture), crop, to_picture, cv::Size(kCropSide, kCropSide),
                 cv::INTER_LINEAR | cv::WARP_INVERSE_MAP, cv::BORDER_CONSTANT, cv::Scalar(0, 0, 0));
}

Result<void> check_arguments(const Image& picture, const Region& region) {
  if (picture.empty()) return fail(ErrorCode::Invalid, "the picture is empty");
  constexpr float kFarthest = 1e6F;
  if (!region.valid() || region.side_px > kFarthest ||
      region.center_px.cwiseAbs().maxCoeff() > kFarthest) {
    return fail(ErrorCode::Invalid, "the region to look at is not a usable square");
  }
  return {};
}

}  // namespace

LandmarkNetwork::LandmarkNetwork(Network network)
    : network_(std::move(network)), input_(make_planes(kCropSide)) {}

Result<LandmarkNetwork> LandmarkNetwork::create(const std::filesystem::path& models,
                                                Variant variant, DepthwiseForm depthwise) {
  return LandmarkNetwork(
      LINTEL_TRY(Network::load(models, network_file(variant), kOutputs, depthwise)));
}

Result<LandmarkResult> LandmarkNetwork::run(const Image& picture, const Region& region) {
  LINTEL_TRY_VOID(check_arguments(picture, region));
  try {
    warp_crop(picture, region, crop_);
    fill_planes(crop_, 1 / 255.0F, 0.0F, input_);
  } catch (const cv::Exception& exception) {
    return fail(ErrorCode::Internal, "the region cannot be cut out: " + exception.err);
  }
  const auto outputs = LINTEL_TRY(network_.run(input_));
  return decode_landmarks(outputs[0], outputs[1][0], outputs[2], region, picture.width(),
                          picture.height());
}

Result<Image> crop_region(const Image& picture, const Region& region) {
  LINTEL_TRY_VOID(check_arguments(picture, region));
  try {
    cv::Mat crop;
    warp_crop(picture, region, crop);
    Image result(kCropSide, kCropSide);
    std::memcpy(result.bytes().data(), crop.ptr(), result.bytes().size());
    return result;
  } catch (const cv::Exception& exception) {
    return fail(ErrorCode::Internal, "the region cannot be cut out: " + exception.err);
  }
}

}  // namespace lintel::pose
