// Reads the .tflite files of the pose networks (a flatbuffer, schema version 3, one subgraph).
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.h"

namespace lintel::pose {

// Element types as numbered in the file format; others are refused.
enum class ElementType : std::uint8_t { Float32 = 0, Float16 = 1, Int32 = 2, UInt8 = 3, Int64 = 4 };
std::size_t element_size(ElementType type);  // bytes

// Operators as numbered in the file format; any other is refused.
enum class OperatorCode : std::uint8_t {
  Add = 0,
  Concatenation = 2,
  Conv2d = 3,
  DepthwiseConv2d = 4,
  DepthToSpace = 5,
  Dequantize = 6,
  Logistic = 14,
  MaxPool2d = 17,
  Reshape = 22,
  ResizeBilinear = 23,
  Pad = 34,
  Densify = 124,
};

enum class PaddingMode : std::uint8_t { Same = 0, Valid = 1 };
enum class Activation : std::uint8_t { None = 0, Relu = 1, Relu6 = 3 };

// A list of unsigned indices that stays in the file: 1, 2 or 4 bytes each, little endian.
struct IndexList {
  std::span<const std::uint8_t> bytes;
  std::size_t width = 4;  // bytes an index
  std::size_t size() const { return bytes.size() / width; }
  std::int64_t operator[](std::size_t i) const;
};

// Rows of a tensor whose last dimension is stored sparse: row r holds the values
// [segments[r], segments[r + 1]) at the last-dimension places indices[...].
struct SparseRows {
  IndexList segments;
  IndexList indices;
};

struct TfliteTensor {
  std::string name;
  std::vector<int> shape;  // NHWC where it has four dimensions; every entry >= 1
  ElementType type = ElementType::Float32;
  std::span<const std::uint8_t> data;  // empty = computed, not constant
  std::optional<SparseRows> sparse;
  std::size_t data_offset = 0;  // place of data in the file, for messages

  bool constant() const { return !data.empty(); }
  std::size_t element_count() const;
};

// Options of all operators in one struct; an operator uses what its kind has.
struct TfliteOperator {
  OperatorCode code = OperatorCode::Add;
  std::vector<int> inputs;  // tensor indices; -1 = optional input left out
  std::vector<int> outputs;
  PaddingMode padding = PaddingMode::Same;
  Activation activation = Activation::None;
  int stride_x = 1, stride_y = 1;
  int dilation_x = 1, dilation_y = 1;
  int filter_width = 0, filter_height = 0;  // pooling
  int depth_multiplier = 1;
  int axis = 0;
  int block_size = 0;
  bool align_corners = false;
  bool half_pixel_centers = false;
  std::size_t file_offset = 0;  // of its table, for messages
};

// Everything points into the bytes it was read from: they must outlive the graph.
struct TfliteGraph {
  std::vector<TfliteTensor> tensors;
  std::vector<TfliteOperator> operators;  // in order of execution
  std::vector<int> inputs;
  std::vector<int> outputs;
};

// Checks every offset, count and index before it is used; sizes of constants agree with their
// shapes. Errors: Invalid (damaged), Unsupported (other operators or types), Limit; the byte where
// it was noticed stands in place.field ("byte 1234").
Result<TfliteGraph> read_tflite(std::span<const std::uint8_t> file);

}  // namespace lintel::pose
