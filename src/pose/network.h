// One network in OpenCV. Used inside this module only: the header shows OpenCV.
#pragma once

#include <filesystem>
#include <span>
#include <vector>

#include <opencv2/core/mat.hpp>
#include <opencv2/dnn/dnn.hpp>

#include "base/result.h"
#include "pose/model_files.h"
#include "pose/network_converter.h"

namespace lintel::pose {

// Not thread-safe: one object per thread. Move-only in spirit; a copied cv::dnn::Net shares state.
class Network {
 public:
  Network(const Network&) = delete;
  Network& operator=(const Network&) = delete;
  Network(Network&&) = default;
  Network& operator=(Network&&) = default;

  // Converts the file and keeps the outputs with these numbers of elements. Standard: all layers by
  // OpenCV, for comparisons.
  static Result<Network> create(std::span<const std::uint8_t> tflite,
                                std::span<const std::size_t> output_elements,
                                DepthwiseForm depthwise = DepthwiseForm::OwnLayer);
  static Result<Network> load(const std::filesystem::path& models, NetworkFile file,
                              std::span<const std::size_t> output_elements,
                              DepthwiseForm depthwise = DepthwiseForm::OwnLayer);

  // input: 1 x 3 x n x n floats, RGB. Outputs in the order of output_elements; they are the
  // network's own memory and hold until the next run.
  Result<std::vector<std::span<const float>>> run(const cv::Mat& input);

 private:
  Network() = default;
  cv::dnn::Net net_;
  std::vector<std::size_t> output_elements_;
  std::vector<cv::String> output_names_;
  std::vector<cv::Mat> outputs_;
};

}  // namespace lintel::pose
