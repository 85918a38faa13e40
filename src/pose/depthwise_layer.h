// Depthwise convolution for OpenCV's dnn: its own is slow for 5 x 5 filters, takes no asymmetric
// padding, and these two make a third of the landmark networks' time (bench/pose_bench.cpp).
#pragma once

#include <array>
#include <cstddef>

namespace lintel::pose {

// Name of the node in the converted graph. Inputs: picture, weights C x 1 x K x K, bias C.
// Attributes: depthwise_stride, depthwise_pads (top, left, bottom, right), depthwise_limit (float,
// values are cut to [0, limit]; negative = not cut).
inline constexpr const char* kDepthwiseNode = "LintelDepthwise";

// Filters 3 x 3 and 5 x 5, strides 1 and 2.
bool depthwise_supported(int filter_height, int filter_width, int stride_y, int stride_x);

// Makes OpenCV know the layer; any number of calls, any thread.
void register_depthwise_layer();

struct DepthwisePlane {
  int height = 0, width = 0;  // of the input
  int filter = 3;             // 3 or 5
  int stride = 1;             // 1 or 2
  std::array<int, 4> pads{};  // top, left, bottom, right
  float limit = -1;
  int out_height() const { return (height + pads[0] + pads[2] - filter) / stride + 1; }
  int out_width() const { return (width + pads[1] + pads[3] - filter) / stride + 1; }
};

// One channel: input height x width, weights filter x filter, output out_height x out_width, all
// row-major. scratch: at least depthwise_scratch(plane) floats.
std::size_t depthwise_scratch(const DepthwisePlane& plane);
void depthwise_channel(const DepthwisePlane& plane, const float* input, const float* weights,
                       float bias, float* scratch, float* output);

}  // namespace lintel::pose
