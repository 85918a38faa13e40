#include "pose/network_converter.h"

#include <gtest/gtest.h>

#include <array>
#include <cmath>
#include <limits>

#include "pose/network.h"
#include "pose/network_constants.h"
#include "support/tiny_tflite.h"

namespace lintel::pose {
namespace {

using test::bytes_of;
using test::TinyModel;

OnnxGraph converted(const std::vector<std::uint8_t>& file,
                    const std::vector<std::size_t>& kept = {}) {
  const auto graph = read_tflite(file);
  EXPECT_TRUE(graph) << (graph ? "" : describe(graph.error()));
  if (!graph) return {};
  auto onnx = convert_to_onnx(*graph, kept);
  EXPECT_TRUE(onnx) << (onnx ? "" : describe(onnx.error()));
  return onnx ? std::move(*onnx) : OnnxGraph{};
}

const OnnxNode* find_node(const OnnxGraph& graph, std::string_view operation) {
  for (const OnnxNode& node : graph.nodes) {
    if (node.operation == operation) return &node;
  }
  return nullptr;
}

std::vector<std::int64_t> integers(const OnnxNode& node, std::string_view name) {
  for (const OnnxAttribute& attribute : node.attributes) {
    if (attribute.name == name) return std::get<std::vector<std::int64_t>>(attribute.value);
  }
  return {};
}

// Runs a tiny network in OpenCV on planes given in NCHW order.
std::vector<float> run(const TinyModel& model, std::vector<float> input,
                       const std::array<int, 4>& shape, std::size_t output_elements) {
  const std::vector<std::uint8_t> file = test::write_tiny(model);
  const std::array<std::size_t, 1> outputs = {output_elements};
  auto network = Network::create(file, outputs);
  EXPECT_TRUE(network) << (network ? "" : describe(network.error()));
  if (!network) return {};
  const cv::Mat planes(4, shape.data(), CV_32F, input.data());
  const auto result = network->run(planes);
  EXPECT_TRUE(result) << (result ? "" : describe(result.error()));
  if (!result) return {};
  return {(*result)[0].begin(), (*result)[0].end()};
}

// IEEE 754-2019 table 3.5 (binary16): bias 15, 10 bits of fraction, subnormals 2^-24 apart.
TEST(HalfPrecision, ConvertsTheSpecialValues) {
  EXPECT_EQ(half_to_float(0x3C00), 1.0F);
  EXPECT_EQ(half_to_float(0xC000), -2.0F);
  EXPECT_EQ(half_to_float(0x7BFF), 65504.0F);         // largest
  EXPECT_EQ(half_to_float(0x0400), 0x1p-14F);         // smallest normal
  EXPECT_EQ(half_to_float(0x0001), 0x1p-24F);         // smallest subnormal
  EXPECT_EQ(half_to_float(0x03FF), 1023 * 0x1p-24F);  // largest subnormal
  EXPECT_EQ(half_to_float(0x0000), 0.0F);
  EXPECT_TRUE(std::signbit(half_to_float(0x8000)));
  EXPECT_EQ(half_to_float(0x7C00), std::numeric_limits<float>::infinity());
  EXPECT_TRUE(std::isnan(half_to_float(0x7E00)));
}

TEST(Convolution, SamePaddingOfAnEvenSideGoesBehind) {
  const OnnxGraph graph = converted(test::write_tiny(test::tiny_convolution()));
  const OnnxNode* node = find_node(graph, "Conv");
  ASSERT_NE(node, nullptr);
  // 4 pixels, filter 3, stride 2: output 2, total padding (2-1)*2+3-4 = 1, all of it behind.
  EXPECT_EQ(integers(*node, "pads"), (std::vector<std::int64_t>{0, 0, 1, 1}));
  EXPECT_NE(find_node(graph, "Relu"), nullptr);
}

TEST(Convolution, GivesTheNumbersWorkedOutByHand) {
  std::vector<float> input(16);
  for (std::size_t i = 0; i < 16; ++i) input[i] = static_cast<float>(i);
  const std::vector<float> out = run(test::tiny_convolution(), input, {1, 1, 4, 4}, 8);
  // Windows start at pixels (0,0), (0,2), (2,0), (2,2). Filter 0: their first pixel - 1, cut at 0.
  // Filter 1: pixel two further down and right - 1; outside of the picture (zero) it is cut to 0.
  EXPECT_EQ(out, (std::vector<float>{0, 1, 7, 9, 9, 0, 0, 0}));
}

TEST(DepthwiseConvolution, KeepsEachChannelToItself) {
  TinyModel model;
  // 1x2x2x2 input, 1x1 filters 10 and 100, clipped to 6.
  model.tensors = {{{1, 2, 2, 2}, 0, {}, {}},
                   {{1, 1, 1, 2}, 0, bytes_of(std::vector<float>{0.5F, 100}), {}},
                   {{2}, 0, bytes_of(std::vector<float>{0, 0}), {}},
                   {{1, 2, 2, 2}, 0, {}, {}}};
  // Options: padding, strides, multiplier (3) before activation (4): the order differs.
  model.operators = {{4, {0, 1, 2}, {3}, {{0, 0, 1}, {1, 1, 4}, {2, 1, 4}, {3, 1, 4}, {4, 3, 1}}}};
  model.outputs = {3};
  const std::vector<float> out = run(model, {1, 2, 3, 4, -1, 0, 0.05F, 1}, {1, 2, 2, 2}, 8);
  EXPECT_EQ(out, (std::vector<float>{0.5F, 1, 1.5F, 2, 0, 0, 5, 6}));
}

// The same filter as in tiny_convolution(), for each of two channels, through our own layer.
TEST(DepthwiseConvolution, IsTheSameThroughOurOwnLayer) {
  TinyModel model;
  std::vector<float> weights(18, 0.0F);
  weights[0] = 1;   // height, width, channel: channel 0 takes the window's first pixel
  weights[17] = 1;  // channel 1 its last
  model.tensors = {{{1, 4, 4, 2}, 0, {}, {}},
                   {{1, 3, 3, 2}, 0, bytes_of(weights), {}},
                   {{2}, 0, bytes_of(std::vector<float>{-1, -1}), {}},
                   {{1, 2, 2, 2}, 0, {}, {}}};
  model.operators = {{4, {0, 1, 2}, {3}, {{0, 0, 1}, {1, 2, 4}, {2, 2, 4}, {3, 1, 4}, {4, 3, 1}}}};
  model.outputs = {3};
  const auto own =
      convert_to_onnx(*read_tflite(test::write_tiny(model)), {}, DepthwiseForm::OwnLayer);
  ASSERT_TRUE(own);
  EXPECT_NE(find_node(*own, "LintelDepthwise"), nullptr);
  EXPECT_EQ(find_node(*own, "Clip"), nullptr);
  std::vector<float> input(32);
  for (std::size_t i = 0; i < 16; ++i) input[i] = input[16 + i] = static_cast<float>(i);
  EXPECT_EQ(run(model, input, {1, 2, 4, 4}, 8), (std::vector<float>{0, 1, 6, 6, 6, 0, 0, 0}));
}

TEST(Reshape, PutsChannelsLastBeforeItFlattens) {
  TinyModel model;
  model.tensors = {{{1, 2, 2, 2}, 0, {}, {}}, {{1, 8, 1}, 0, {}, {}}};
  model.operators = {{22, {0}, {1}, {}}};
  model.outputs = {1};
  // Channel 0: 1 2 3 4, channel 1: 5 6 7 8 -> pixel by pixel.
  EXPECT_EQ(run(model, {1, 2, 3, 4, 5, 6, 7, 8}, {1, 2, 2, 2}, 8),
            (std::vector<float>{1, 5, 2, 6, 3, 7, 4, 8}));
}

TEST(DepthToSpace, TakesChannelsInDepthColumnRowOrder) {
  TinyModel model;
  model.tensors = {{{1, 1, 1, 8}, 0, {}, {}}, {{1, 2, 2, 2}, 0, {}, {}}};
  model.operators = {{5, {0}, {1}, {{0, 2, 4}}}};
  model.outputs = {1};
  // TensorFlow: channel index = (row * 2 + column) * 2 + depth.
  EXPECT_EQ(run(model, {0, 1, 2, 3, 4, 5, 6, 7}, {1, 8, 1, 1}, 8),
            (std::vector<float>{0, 2, 4, 6, 1, 3, 5, 7}));
}

TEST(Pad, PutsThePairsInTheOrderOfOnnx) {
  TinyModel model;
  model.tensors = {{{1, 1, 1, 1}, 0, {}, {}},
                   {{4, 2}, 2, bytes_of(std::vector<std::int32_t>{0, 0, 1, 0, 0, 2, 0, 1}), {}},
                   {{1, 2, 3, 2}, 0, {}, {}}};
  model.operators = {{34, {0, 1}, {2}, {}}};
  model.outputs = {2};
  // One row above, two columns to the right, one channel behind.
  EXPECT_EQ(run(model, {9}, {1, 1, 1, 1}, 12),
            (std::vector<float>{0, 0, 0, 9, 0, 0, 0, 0, 0, 0, 0, 0}));
}

TEST(Resize, InterpolatesBetweenPixelCentres) {
  TinyModel model;
  model.tensors = {{{1, 1, 2, 1}, 0, {}, {}},
                   {{2}, 2, bytes_of(std::vector<std::int32_t>{2, 4}), {}},
                   {{1, 2, 4, 1}, 0, {}, {}}};
  model.operators = {{23, {0, 1}, {2}, {{2, 0, 1}, {3, 1, 1}}}};
  model.outputs = {2};
  // Half-pixel centres: out x at (x + 0.5) / 2 - 0.5 = -0.25, 0.25, 0.75, 1.25.
  const std::vector<float> out = run(model, {0, 4}, {1, 1, 1, 2}, 8);
  EXPECT_EQ(out, (std::vector<float>{0, 1, 3, 4, 0, 1, 3, 4}));
  model.operators[0].options[1].value = 0;
  EXPECT_EQ(convert_to_onnx(*read_tflite(test::write_tiny(model))).error().code,
            ErrorCode::Unsupported);
}

TEST(Densify, PutsSparseValuesAtTheirPlaces) {
  TinyModel model;
  // 2x1x1x3 weights: row 0 has 5 at column 1; row 1 has 6 at 0 and 7 at 2.
  test::TinySparsity sparsity{{2, 1, 1}, {0, 1, 3}, {1, 0, 2}};
  model.tensors = {
      {{1, 1, 1, 3}, 0, {}, {}},
      {{2, 1, 1, 3}, 1, bytes_of(std::vector<std::uint16_t>{0x4500, 0x4600, 0x4700}), sparsity},
      {{2, 1, 1, 3}, 1, {}, {}},
      {{2, 1, 1, 3}, 0, {}, {}},
      {{1, 1, 1, 2}, 0, {}, {}}};
  model.operators = {{124, {1}, {2}, {}},
                     {6, {2}, {3}, {}},
                     {3, {0, 3}, {4}, {{0, 0, 1}, {1, 1, 4}, {2, 1, 4}, {3, 0, 1}}}};
  model.outputs = {4};
  EXPECT_EQ(run(model, {1, 10, 100}, {1, 3, 1, 1}, 2), (std::vector<float>{50, 706}));
  for (const std::vector<std::uint8_t>& bad :
       {std::vector<std::uint8_t>{0, 1, 4}, {0, 4, 3}, {1, 1, 3}, {0, 3}}) {
    model.tensors[1].sparsity->segments = bad;
    EXPECT_FALSE(read_tflite(test::write_tiny(model)));
  }
}

TEST(Addition, TakesAConstantForEachChannel) {
  TinyModel model;
  model.tensors = {{{1, 1, 2, 2}, 0, {}, {}},
                   {{2}, 0, bytes_of(std::vector<float>{10, 20}), {}},
                   {{1, 1, 2, 2}, 0, {}, {}}};
  model.operators = {{0, {1, 0}, {2}, {}}};
  model.outputs = {2};
  EXPECT_EQ(run(model, {1, 2, 3, 4}, {1, 2, 1, 2}, 4), (std::vector<float>{11, 12, 23, 24}));
}

TEST(Pruning, DropsWhatFeedsOnlyOutputsThatAreNotKept) {
  TinyModel model = test::tiny_convolution();
  model.tensors.push_back({{1, 2, 2, 2}, 0, {}, {}});
  model.tensors.push_back({{1, 1, 1, 2}, 0, {}, {}});
  model.operators.push_back({14, {3}, {4}, {}});  // LOGISTIC
  model.operators.push_back(
      {17, {3}, {5}, {{0, 1, 1}, {1, 2, 4}, {2, 2, 4}, {3, 2, 4}, {4, 2, 4}}});
  model.outputs = {4, 5};
  const auto file = test::write_tiny(model);
  EXPECT_NE(find_node(converted(file), "Sigmoid"), nullptr);
  const OnnxGraph pruned = converted(file, {2});
  EXPECT_EQ(find_node(pruned, "Sigmoid"), nullptr);
  EXPECT_NE(find_node(pruned, "MaxPool"), nullptr);
  const auto missing = convert_to_onnx(*read_tflite(file), std::vector<std::size_t>{99});
  EXPECT_EQ(missing.error().code, ErrorCode::NotFound);
}

TEST(Converter, RefusesShapesThatDoNotFit) {
  TinyModel model = test::tiny_convolution();
  model.tensors[3].shape = {1, 2, 3, 2};
  const auto file = test::write_tiny(model);
  const auto onnx = convert_to_onnx(*read_tflite(file));
  ASSERT_FALSE(onnx);
  EXPECT_EQ(onnx.error().code, ErrorCode::Invalid);
  EXPECT_EQ(onnx.error().place.field.rfind("byte ", 0), 0U);
}

TEST(Converter, RefusesOperatorsOutOfOrder) {
  TinyModel model;
  model.tensors = {{{1, 2, 2, 1}, 0, {}, {}}, {{1, 2, 2, 1}, 0, {}, {}}, {{1, 2, 2, 1}, 0, {}, {}}};
  model.operators = {{14, {2}, {1}, {}}, {14, {1}, {2}, {}}};
  model.outputs = {2};
  EXPECT_FALSE(convert_to_onnx(*read_tflite(test::write_tiny(model))));
  model.operators = {{14, {0}, {0}, {}}};
  model.outputs = {0};
  EXPECT_FALSE(convert_to_onnx(*read_tflite(test::write_tiny(model))));
}

}  // namespace
}  // namespace lintel::pose
