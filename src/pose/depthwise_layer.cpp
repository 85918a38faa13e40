#include "pose/depthwise_layer.h"

#include <mutex>
#include <opencv2/core.hpp>
#include <opencv2/dnn.hpp>
#include <opencv2/dnn/layer.details.hpp>
#include <vector>

namespace lintel::pose {
namespace {

class DepthwiseLayer final : public cv::dnn::Layer {
 public:
  explicit DepthwiseLayer(const cv::dnn::LayerParams& params) : cv::dnn::Layer(params) {
    CV_Assert(blobs.size() == 2 && blobs[0].dims == 4 && blobs[0].size[1] == 1);
    plane_.filter = blobs[0].size[2];
    plane_.stride = params.get<int>("depthwise_stride");
    const cv::dnn::DictValue& pads = params.get("depthwise_pads");
    CV_Assert(pads.size() == 4);
    for (int i = 0; i < 4; ++i) plane_.pads[static_cast<std::size_t>(i)] = pads.get<int>(i);
    plane_.limit = params.get<float>("depthwise_limit");
    CV_Assert(depthwise_supported(plane_.filter, blobs[0].size[3], plane_.stride, plane_.stride));
    CV_Assert(static_cast<int>(blobs[1].total()) == blobs[0].size[0]);
  }

  static cv::Ptr<cv::dnn::Layer> create(cv::dnn::LayerParams& params) {
    return cv::makePtr<DepthwiseLayer>(params);
  }

  bool getMemoryShapes(const std::vector<cv::dnn::MatShape>& inputs, const int,
                       std::vector<cv::dnn::MatShape>& outputs,
                       std::vector<cv::dnn::MatShape>&) const override {
    CV_Assert(inputs.size() == 1 && inputs[0].size() == 4 && inputs[0][1] == blobs[0].size[0]);
    const DepthwisePlane plane = plane_for(inputs[0][2], inputs[0][3]);
    CV_Assert(plane.out_height() > 0 && plane.out_width() > 0);
    outputs.assign(1, {inputs[0][0], inputs[0][1], plane.out_height(), plane.out_width()});
    return false;
  }

  void forward(cv::InputArrayOfArrays input_array, cv::OutputArrayOfArrays output_array,
               cv::OutputArrayOfArrays) override {
    std::vector<cv::Mat> inputs;
    std::vector<cv::Mat> outputs;
    input_array.getMatVector(inputs);
    output_array.getMatVector(outputs);
    const cv::Mat& in = inputs[0];
    cv::Mat& out = outputs[0];
    const DepthwisePlane plane = plane_for(in.size[2], in.size[3]);
    const int channels = in.size[1];
    const float* weights = blobs[0].ptr<float>();
    const float* bias = blobs[1].ptr<float>();
    cv::parallel_for_(cv::Range(0, in.size[0] * channels), [&](const cv::Range& range) {
      std::vector<float> scratch(depthwise_scratch(plane));
      for (int i = range.start; i < range.end; ++i) {
        const int batch = i / channels;
        const int c = i % channels;
        depthwise_channel(plane, in.ptr<float>(batch, c),
                          weights + static_cast<std::ptrdiff_t>(c) * plane.filter * plane.filter,
                          bias[c], scratch.data(), out.ptr<float>(batch, c));
      }
    });
  }

 private:
  DepthwisePlane plane_for(int height, int width) const {
    DepthwisePlane plane = plane_;
    plane.height = height;
    plane.width = width;
    return plane;
  }
  DepthwisePlane plane_;
};

}  // namespace

bool depthwise_supported(int filter_height, int filter_width, int stride_y, int stride_x) {
  return filter_height == filter_width && (filter_width == 3 || filter_width == 5) &&
         stride_y == stride_x && (stride_x == 1 || stride_x == 2);
}

void register_depthwise_layer() {
  static std::once_flag once;
  std::call_once(
      once, [] { cv::dnn::LayerFactory::registerLayer(kDepthwiseNode, DepthwiseLayer::create); });
}

}  // namespace lintel::pose
