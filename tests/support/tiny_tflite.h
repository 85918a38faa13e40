// Makes small .tflite files for tests: a flatbuffer written by hand, parents before children.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace lintel::test {

struct TinySparsity {
  std::vector<int> dense_sizes;        // of the first three dimensions
  std::vector<std::uint8_t> segments;  // stored as uint8 lists
  std::vector<std::uint8_t> indices;
};

struct TinyTensor {
  std::vector<int> shape;
  std::uint8_t type = 0;           // 0 float32, 1 float16, 2 int32
  std::vector<std::uint8_t> data;  // empty = computed
  std::optional<TinySparsity> sparsity;
};

// An option field of an operator: number in the schema, value, 1 or 4 bytes wide.
struct TinyOption {
  int field;
  int value;
  int width;
};

struct TinyOperator {
  int code;
  std::vector<int> inputs;
  std::vector<int> outputs;
  std::vector<TinyOption> options;
};

struct TinyModel {
  std::vector<TinyTensor> tensors;
  std::vector<TinyOperator> operators;
  std::vector<int> inputs = {0};
  std::vector<int> outputs;
  int version = 3;
};

std::vector<std::uint8_t> bytes_of(const std::vector<float>& values);
std::vector<std::uint8_t> bytes_of(const std::vector<std::int32_t>& values);
std::vector<std::uint8_t> bytes_of(const std::vector<std::uint16_t>& values);

std::vector<std::uint8_t> write_tiny(const TinyModel& model);

// input 1x4x4x1 -> CONV_2D 3x3, stride 2, SAME, two filters, activation Relu -> 1x2x2x2.
// Filter 0 picks the window's top left pixel, filter 1 its bottom right; the bias of both is -1.
TinyModel tiny_convolution();

}  // namespace lintel::test
