// A network graph in memory and its bytes in the ONNX format (IR version 6, operator set 12:
// what OpenCV 4.6 reads best).
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace lintel::pose {

struct OnnxTensor {
  std::string name;
  std::vector<std::int64_t> shape;
  std::variant<std::vector<float>, std::vector<std::int64_t>> values;  // row-major
};

struct OnnxAttribute {
  std::string name;
  std::variant<std::int64_t, float, std::string, std::vector<std::int64_t>> value;
};

struct OnnxNode {
  std::string operation;            // "Conv"
  std::vector<std::string> inputs;  // an empty name = optional input left out
  std::string output;               // also the node's name
  std::vector<OnnxAttribute> attributes;
};

struct OnnxValue {
  std::string name;
  std::vector<std::int64_t> shape;  // of 32-bit floats
};

struct OnnxGraph {
  std::vector<OnnxNode> nodes;  // in order of execution
  std::vector<OnnxTensor> initializers;
  std::vector<OnnxValue> inputs;
  std::vector<OnnxValue> outputs;
};

std::vector<std::uint8_t> write_onnx(const OnnxGraph& graph);

}  // namespace lintel::pose
