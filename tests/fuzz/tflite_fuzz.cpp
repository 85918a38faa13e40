// Any bytes as a network file: a graph or an error with its place, never a crash.
#include <span>

#include "fuzz_input.h"
#include "pose/network_converter.h"
#include "pose/onnx_writer.h"
#include "pose/tflite_reader.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel::pose;
  const auto graph = read_tflite(std::span(data, size));
  if (!graph) {
    require(!graph.error().message.empty());
    return 0;
  }
  for (const TfliteTensor& tensor : graph->tensors) {
    require(tensor.data.size() <= size && tensor.shape.size() <= 4);
  }
  const auto onnx = convert_to_onnx(*graph);
  if (!onnx) {
    require(!onnx.error().message.empty());
    return 0;
  }
  require(!onnx->outputs.empty() && !write_onnx(*onnx).empty());
  return 0;
}
