// From the .tflite graph (NHWC, half-precision and sparse weights) to an ONNX graph (NCHW, dense
// single precision).
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "base/result.h"
#include "pose/onnx_writer.h"
#include "pose/tflite_reader.h"

namespace lintel::pose {

// How depthwise convolutions are written: as ONNX has them, or, where it can do them, for our own
// layer (depthwise_layer.h), which only OpenCV with that layer registered understands.
enum class DepthwiseForm : std::uint8_t { Standard, OwnLayer };

// Keeps the outputs whose number of elements is in kept_elements (all, when it is empty) and drops
// everything that feeds only others. Four-dimensional values become NCHW; what comes after a
// RESHAPE keeps the order of the .tflite file. Errors: Unsupported or Invalid with the byte of the
// operator in place.field; NotFound when a kept output is missing or ambiguous.
Result<OnnxGraph> convert_to_onnx(const TfliteGraph& graph,
                                  std::span<const std::size_t> kept_elements = {},
                                  DepthwiseForm depthwise = DepthwiseForm::Standard);

}  // namespace lintel::pose
