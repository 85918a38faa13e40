// The weights of a .tflite graph as single precision numbers.
#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <vector>

#include "base/result.h"
#include "pose/tflite_reader.h"

namespace lintel::pose {

// IEEE 754 half to single precision.
float half_to_float(std::uint16_t half);

// Constants as stored, and those that DEQUANTIZE and DENSIFY make of others. All together unpack
// to at most 512 MiB; errors: Limit beyond that, Unsupported, Invalid. The graph must outlive it.
class Constants {
 public:
  explicit Constants(const TfliteGraph& graph) : graph_(graph) {}

  bool contains(int tensor) const;
  Result<std::vector<float>> floats(int tensor);
  Result<std::vector<std::int64_t>> integers(int tensor) const;  // from 32-bit ones
  // The result of a DEQUANTIZE or DENSIFY of a constant.
  Result<void> fold(const TfliteOperator& entry);

 private:
  const TfliteTensor& tensor(int index) const {
    return graph_.tensors[static_cast<std::size_t>(index)];
  }
  Result<void> spend(std::size_t elements);
  Result<std::vector<float>> read_floats(const TfliteTensor& source);

  const TfliteGraph& graph_;
  std::map<int, std::vector<float>> folded_;
  std::size_t spent_ = 0;
};

}  // namespace lintel::pose
