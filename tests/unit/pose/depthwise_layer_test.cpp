#include "pose/depthwise_layer.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "base/random.h"

namespace lintel::pose {
namespace {

// The definition, in double precision and plain loops.
std::vector<double> by_definition(const DepthwisePlane& plane, const std::vector<float>& input,
                                  const std::vector<float>& weights, float bias) {
  std::vector<double> out;
  for (int y = 0; y < plane.out_height(); ++y) {
    for (int x = 0; x < plane.out_width(); ++x) {
      double sum = static_cast<double>(bias);
      for (int ky = 0; ky < plane.filter; ++ky) {
        for (int kx = 0; kx < plane.filter; ++kx) {
          const int row = y * plane.stride + ky - plane.pads[0];
          const int column = x * plane.stride + kx - plane.pads[1];
          if (row < 0 || row >= plane.height || column < 0 || column >= plane.width) continue;
          sum += static_cast<double>(weights[static_cast<std::size_t>(ky * plane.filter + kx)]) *
                 static_cast<double>(input[static_cast<std::size_t>(row * plane.width + column)]);
        }
      }
      if (plane.limit >= 0) sum = std::clamp(sum, 0.0, static_cast<double>(plane.limit));
      out.push_back(sum);
    }
  }
  return out;
}

TEST(DepthwiseChannel, AgreesWithItsDefinition) {
  Random random(7);
  const std::array<std::array<int, 4>, 4> paddings = {
      {{0, 0, 0, 0}, {1, 1, 1, 1}, {0, 0, 1, 1}, {1, 2, 2, 1}}};
  for (const int filter : {3, 5}) {
    for (const int stride : {1, 2}) {
      for (const auto& pads : paddings) {
        for (const auto& [height, width] : {std::pair{5, 5}, {6, 9}, {16, 16}, {7, 33}}) {
          DepthwisePlane plane{height, width, filter, stride, pads, stride == 1 ? 6.0F : -1.0F};
          std::vector<float> input(static_cast<std::size_t>(height * width));
          std::vector<float> weights(static_cast<std::size_t>(filter * filter));
          for (float& v : input) v = static_cast<float>(random.uniform(-2, 2));
          for (float& v : weights) v = static_cast<float>(random.uniform(-1, 1));
          const auto expected = by_definition(plane, input, weights, 0.3F);
          std::vector<float> scratch(depthwise_scratch(plane), -77.0F);  // left from before
          std::vector<float> out(expected.size(), -99.0F);
          depthwise_channel(plane, input.data(), weights.data(), 0.3F, scratch.data(), out.data());
          for (std::size_t i = 0; i < out.size(); ++i) {
            ASSERT_NEAR(out[i], expected[i], 2e-5)
                << filter << " " << stride << " " << height << "x" << width << " at " << i;
          }
        }
      }
    }
  }
}

TEST(DepthwiseLayer, SaysWhatItCanDo) {
  EXPECT_TRUE(depthwise_supported(3, 3, 1, 1));
  EXPECT_TRUE(depthwise_supported(5, 5, 2, 2));
  EXPECT_FALSE(depthwise_supported(1, 1, 1, 1));
  EXPECT_FALSE(depthwise_supported(3, 5, 1, 1));
  EXPECT_FALSE(depthwise_supported(3, 3, 1, 2));
  EXPECT_FALSE(depthwise_supported(3, 3, 3, 3));
}

}  // namespace
}  // namespace lintel::pose
