#include "pose/network.h"

#include <opencv2/core.hpp>
#include <string>

#include "pose/depthwise_layer.h"
#include "pose/network_converter.h"
#include "pose/onnx_writer.h"
#include "pose/tflite_reader.h"

namespace lintel::pose {

Result<Network> Network::create(std::span<const std::uint8_t> tflite,
                                std::span<const std::size_t> output_elements,
                                DepthwiseForm depthwise) {
  const TfliteGraph graph = LINTEL_TRY(read_tflite(tflite));
  std::vector<std::uint8_t> onnx;
  {
    const OnnxGraph converted = LINTEL_TRY(convert_to_onnx(graph, output_elements, depthwise));
    onnx = write_onnx(converted);
  }
  Network network;
  network.output_elements_.assign(output_elements.begin(), output_elements.end());
  register_depthwise_layer();
  try {
    network.net_ =
        cv::dnn::readNetFromONNX(reinterpret_cast<const char*>(onnx.data()), onnx.size());
    network.net_.setPreferableBackend(cv::dnn::DNN_BACKEND_OPENCV);
    network.net_.setPreferableTarget(cv::dnn::DNN_TARGET_CPU);
    network.output_names_ = network.net_.getUnconnectedOutLayersNames();
  } catch (const cv::Exception& exception) {
    return fail(ErrorCode::Internal, "OpenCV refuses the network: " + exception.err);
  }
  return network;
}

Result<Network> Network::load(const std::filesystem::path& models, NetworkFile file,
                              std::span<const std::size_t> output_elements,
                              DepthwiseForm depthwise) {
  const std::vector<std::uint8_t> bytes = LINTEL_TRY(read_network_file(models, file));
  auto network = create(bytes, output_elements, depthwise);
  if (!network) {
    Error error = std::move(network).error();
    error.with_file((models / network_file_name(file)).string());
    return fail(std::move(error));
  }
  return network;
}

Result<std::vector<std::span<const float>>> Network::run(const cv::Mat& input) {
  try {
    net_.setInput(input);
    net_.forward(outputs_, output_names_);
  } catch (const cv::Exception& exception) {
    return fail(ErrorCode::Internal, "the network cannot be run: " + exception.err);
  }
  // By element count, never by name: names differ from network to network.
  std::vector<std::span<const float>> views;
  for (const std::size_t elements : output_elements_) {
    for (const cv::Mat& output : outputs_) {
      if (output.total() == elements && output.type() == CV_32F && output.isContinuous()) {
        views.emplace_back(output.ptr<float>(), elements);
        break;
      }
    }
  }
  if (views.size() != output_elements_.size()) {
    return fail(ErrorCode::Internal, "the network gives other outputs than expected");
  }
  return views;
}

}  // namespace lintel::pose
