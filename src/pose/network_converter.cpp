#include "pose/network_converter.h"

#include <algorithm>
#include <string>
#include <tuple>
#include <utility>

#include "pose/depthwise_layer.h"
#include "pose/network_constants.h"

namespace lintel::pose {

namespace {

// How the values of a tensor lie in the ONNX graph.
enum class Layout : std::uint8_t { Unset, ChannelsFirst, AsStored };

struct Padding2d {
  int before_y = 0, before_x = 0, after_y = 0, after_x = 0;
};

// SAME: the output is ceil(in / stride); the odd pixel of padding goes behind.
std::pair<int, int> same_padding(int in, int filter, int stride, int dilation) {
  const int out = (in + stride - 1) / stride;
  const int total = std::max((out - 1) * stride + (filter - 1) * dilation + 1 - in, 0);
  return {total / 2, total - total / 2};
}

int window_output(int in, int filter, int stride, int dilation, PaddingMode padding) {
  if (padding == PaddingMode::Same) return (in + stride - 1) / stride;
  const int reach = (filter - 1) * dilation + 1;
  return in < reach ? 0 : (in - reach) / stride + 1;
}

class Converter {
 public:
  Converter(const TfliteGraph& graph, DepthwiseForm depthwise)
      : graph_(graph),
        depthwise_form_(depthwise),
        layout_(graph.tensors.size(), Layout::Unset),
        constants_(graph) {}

  Result<OnnxGraph> convert(std::span<const std::size_t> kept_elements) {
    const std::vector<int> outputs = LINTEL_TRY(choose_outputs(kept_elements));
    const std::vector<char> needed = LINTEL_TRY(find_needed(outputs));
    const int input = graph_.inputs.front();
    if (tensor(input).shape.size() != 4 || tensor(input).constant()) {
      return fail(ErrorCode::Unsupported, "the network's input must be a picture");
    }
    layout_[static_cast<std::size_t>(input)] = Layout::ChannelsFirst;
    onnx_.inputs.push_back({name(input), onnx_shape(input)});
    for (std::size_t i = 0; i < graph_.operators.size(); ++i) {
      if (needed[i] == 0) continue;
      auto done = convert_operator(graph_.operators[i]);
      if (!done) {
        Error error = std::move(done).error();
        if (error.place.field.empty()) {
          error.place.field = "byte " + std::to_string(graph_.operators[i].file_offset);
        }
        return fail(std::move(error));
      }
    }
    for (const int output : outputs) {
      if (layout_[static_cast<std::size_t>(output)] == Layout::Unset) {
        return fail(ErrorCode::Invalid, "nothing computes an output of the network");
      }
      onnx_.outputs.push_back({name(output), onnx_shape(output)});
    }
    return std::move(onnx_);
  }

 private:
  const TfliteTensor& tensor(int index) const {
    return graph_.tensors[static_cast<std::size_t>(index)];
  }
  static std::string name(int index) { return "t" + std::to_string(index); }

  std::vector<std::int64_t> onnx_shape(int index) const {
    const std::vector<int>& s = tensor(index).shape;
    if (layout_[static_cast<std::size_t>(index)] == Layout::ChannelsFirst) {
      return {s[0], s[3], s[1], s[2]};
    }
    return {s.begin(), s.end()};
  }

  Result<std::vector<int>> choose_outputs(std::span<const std::size_t> kept) const {
    if (kept.empty()) return graph_.outputs;
    std::vector<int> chosen;
    for (const std::size_t elements : kept) {
      int matches = 0;
      for (const int output : graph_.outputs) {
        if (tensor(output).element_count() != elements) continue;
        chosen.push_back(output);
        ++matches;
      }
      if (matches != 1) {
        return fail(ErrorCode::NotFound, "the network has " + std::to_string(matches) +
                                             " outputs of " + std::to_string(elements) +
                                             " elements instead of one");
      }
    }
    return chosen;
  }

  // Operators that the outputs depend on; also that each tensor is written once, before its use.
  Result<std::vector<char>> find_needed(const std::vector<int>& outputs) const {
    std::vector<int> producer(graph_.tensors.size(), -1);
    for (std::size_t i = 0; i < graph_.operators.size(); ++i) {
      const auto output = static_cast<std::size_t>(graph_.operators[i].outputs.front());
      if (producer[output] != -1 || graph_.tensors[output].constant() ||
          static_cast<int>(output) == graph_.inputs.front()) {
        return fail(ErrorCode::Invalid, "two operators of the network write the same tensor");
      }
      producer[output] = static_cast<int>(i);
    }
    std::vector<char> needed_tensor(graph_.tensors.size(), 0);
    for (const int output : outputs) needed_tensor[static_cast<std::size_t>(output)] = 1;
    std::vector<char> needed(graph_.operators.size(), 0);
    for (std::size_t i = graph_.operators.size(); i-- > 0;) {
      const TfliteOperator& entry = graph_.operators[i];
      if (needed_tensor[static_cast<std::size_t>(entry.outputs.front())] == 0) continue;
      needed[i] = 1;
      for (const int input : entry.inputs) {
        if (input < 0) continue;
        const int from = producer[static_cast<std::size_t>(input)];
        if (from >= static_cast<int>(i)) {
          return fail(ErrorCode::Invalid, "the network's operators are not in order");
        }
        needed_tensor[static_cast<std::size_t>(input)] = 1;
      }
    }
    return needed;
  }

  // --- nodes ---

  Result<void> convert_operator(const TfliteOperator& entry) {
    switch (entry.code) {
      case OperatorCode::Dequantize:
      case OperatorCode::Densify:
        return constants_.fold(entry);
      case OperatorCode::Conv2d:
      case OperatorCode::DepthwiseConv2d:
        return convert_convolution(entry);
      case OperatorCode::MaxPool2d:
        return convert_pooling(entry);
      case OperatorCode::Add:
        return convert_addition(entry);
      case OperatorCode::Pad:
        return convert_pad(entry);
      case OperatorCode::ResizeBilinear:
        return convert_resize(entry);
      case OperatorCode::DepthToSpace:
        return convert_depth_to_space(entry);
      case OperatorCode::Reshape:
        return convert_reshape(entry);
      case OperatorCode::Concatenation:
        return convert_concatenation(entry);
      case OperatorCode::Logistic: {
        const int input = entry.inputs.front();
        if (!computed(input) || tensor(input).shape != tensor(entry.outputs.front()).shape) {
          return wrong_shape();
        }
        emit(entry, "Sigmoid", {name(input)}, {}, layout_of(input));
        return {};
      }
    }
    return fail(ErrorCode::Unsupported, "unknown operator");
  }

  static tl::unexpected<Error> wrong_shape() {
    return fail(ErrorCode::Invalid, "the shapes around an operator do not fit together");
  }
  Layout layout_of(int index) const {
    return index < 0 ? Layout::Unset : layout_[static_cast<std::size_t>(index)];
  }
  bool computed(int index) const { return layout_of(index) != Layout::Unset; }
  bool is_picture(int index) const { return layout_of(index) == Layout::ChannelsFirst; }

  void initializer(const std::string& tensor_name, std::vector<std::int64_t> shape,
                   std::vector<float> values) {
    onnx_.initializers.push_back({tensor_name, std::move(shape), std::move(values)});
  }
  void initializer(const std::string& tensor_name, std::vector<std::int64_t> values) {
    const auto count = static_cast<std::int64_t>(values.size());
    onnx_.initializers.push_back({tensor_name, {count}, std::move(values)});
  }

  // The node itself and, behind it, its fused activation.
  void emit(const TfliteOperator& entry, std::string operation, std::vector<std::string> inputs,
            std::vector<OnnxAttribute> attributes, Layout layout) {
    const int output = entry.outputs.front();
    layout_[static_cast<std::size_t>(output)] = layout;
    const bool active = entry.activation != Activation::None;
    const std::string raw = active ? name(output) + "_raw" : name(output);
    onnx_.nodes.push_back({std::move(operation), std::move(inputs), raw, std::move(attributes)});
    if (entry.activation == Activation::Relu) {
      onnx_.nodes.push_back({"Relu", {raw}, name(output), {}});
    } else if (entry.activation == Activation::Relu6) {
      // As attributes (the form before operator set 11): OpenCV 4.6 does not clip otherwise.
      onnx_.nodes.push_back({"Clip", {raw}, name(output), {{"min", 0.0F}, {"max", 6.0F}}});
    }
  }

  Result<Padding2d> window_padding(const TfliteOperator& entry, int height, int width) const {
    const std::vector<int>& in = tensor(entry.inputs.front()).shape;
    const std::vector<int>& out = tensor(entry.outputs.front()).shape;
    const int out_y = window_output(in[1], height, entry.stride_y, entry.dilation_y, entry.padding);
    const int out_x = window_output(in[2], width, entry.stride_x, entry.dilation_x, entry.padding);
    if (out.size() != 4 || in[0] != 1 || out[0] != 1 || out[1] != out_y || out[2] != out_x) {
      return wrong_shape();
    }
    Padding2d padding;
    if (entry.padding == PaddingMode::Same) {
      std::tie(padding.before_y, padding.after_y) =
          same_padding(in[1], height, entry.stride_y, entry.dilation_y);
      std::tie(padding.before_x, padding.after_x) =
          same_padding(in[2], width, entry.stride_x, entry.dilation_x);
    }
    return padding;
  }

  static std::vector<std::int64_t> pads_of(const Padding2d& p) {
    return {p.before_y, p.before_x, p.after_y, p.after_x};
  }

  Result<void> convert_convolution(const TfliteOperator& entry) {
    if (entry.inputs.size() < 2 || !is_picture(entry.inputs[0])) return wrong_shape();
    if (entry.inputs[1] < 0) return wrong_shape();
    const bool depthwise = entry.code == OperatorCode::DepthwiseConv2d;
    const std::vector<int>& shape = tensor(entry.inputs[1]).shape;
    constexpr int kMaxFilterSide = 64;
    if (shape.size() != 4 || shape[1] > kMaxFilterSide || shape[2] > kMaxFilterSide) {
      return wrong_shape();
    }
    const int channels = tensor(entry.inputs[0]).shape[3];
    const int height = shape[1];
    const int width = shape[2];
    const int filters = depthwise ? shape[3] : shape[0];
    const bool fits = depthwise
                          ? shape[0] == 1 && shape[3] == channels && entry.depth_multiplier == 1
                          : shape[3] == channels;
    const Padding2d padding = LINTEL_TRY(window_padding(entry, height, width));
    if (!fits || tensor(entry.outputs.front()).shape[3] != filters) return wrong_shape();

    const std::vector<float> stored = LINTEL_TRY(constants_.floats(entry.inputs[1]));
    if (stored.size() != tensor(entry.inputs[1]).element_count()) return wrong_shape();
    const int depth = depthwise ? 1 : channels;
    std::vector<float> weights(stored.size());
    std::size_t at = 0;
    for (int o = 0; o < filters; ++o) {
      for (int c = 0; c < depth; ++c) {
        for (int y = 0; y < height; ++y) {
          for (int x = 0; x < width; ++x) {
            // Stored O,H,W,C, or 1,H,W,C when depthwise (there the filter is the channel).
            const int row = depthwise ? y * width + x : (o * height + y) * width + x;
            const int column = depthwise ? o : c;
            weights[at++] =
                stored[static_cast<std::size_t>(row) * static_cast<std::size_t>(shape[3]) +
                       static_cast<std::size_t>(column)];
          }
        }
      }
    }
    const std::string base = name(entry.outputs.front());
    initializer(base + "_weights", {filters, depth, height, width}, std::move(weights));
    std::vector<std::string> inputs{name(entry.inputs[0]), base + "_weights"};
    if (entry.inputs.size() > 2 && entry.inputs[2] >= 0) {
      std::vector<float> bias = LINTEL_TRY(constants_.floats(entry.inputs[2]));
      if (bias.size() != static_cast<std::size_t>(filters)) return wrong_shape();
      initializer(base + "_bias", {filters}, std::move(bias));
      inputs.push_back(base + "_bias");
    }
    if (depthwise && own_layer_fits(entry, height, width)) {
      if (inputs.size() == 2) {
        initializer(base + "_bias", {filters},
                    std::vector<float>(static_cast<std::size_t>(filters), 0.0F));
        inputs.push_back(base + "_bias");
      }
      emit_own_depthwise(entry, std::move(inputs), padding);
      return {};
    }
    emit(entry, "Conv", std::move(inputs),
         {{"kernel_shape", std::vector<std::int64_t>{height, width}},
          {"strides", std::vector<std::int64_t>{entry.stride_y, entry.stride_x}},
          {"dilations", std::vector<std::int64_t>{entry.dilation_y, entry.dilation_x}},
          {"pads", pads_of(padding)},
          {"group", std::int64_t{depthwise ? channels : 1}}},
         Layout::ChannelsFirst);
    return {};
  }

  bool own_layer_fits(const TfliteOperator& entry, int height, int width) const {
    return depthwise_form_ == DepthwiseForm::OwnLayer && entry.activation != Activation::Relu &&
           entry.dilation_x == 1 && entry.dilation_y == 1 &&
           depthwise_supported(height, width, entry.stride_y, entry.stride_x);
  }

  void emit_own_depthwise(const TfliteOperator& entry, std::vector<std::string> inputs,
                          const Padding2d& padding) {
    const float limit = entry.activation == Activation::Relu6 ? 6.0F : -1.0F;
    TfliteOperator without_activation = entry;
    without_activation.activation = Activation::None;
    emit(without_activation, kDepthwiseNode, std::move(inputs),
         {{"depthwise_stride", std::int64_t{entry.stride_x}},
          {"depthwise_pads", pads_of(padding)},
          {"depthwise_limit", limit}},
         Layout::ChannelsFirst);
  }

  Result<void> convert_pooling(const TfliteOperator& entry) {
    if (!is_picture(entry.inputs[0])) return wrong_shape();
    const Padding2d padding =
        LINTEL_TRY(window_padding(entry, entry.filter_height, entry.filter_width));
    if (tensor(entry.outputs.front()).shape[3] != tensor(entry.inputs[0]).shape[3]) {
      return wrong_shape();
    }
    emit(entry, "MaxPool", {name(entry.inputs[0])},
         {{"kernel_shape", std::vector<std::int64_t>{entry.filter_height, entry.filter_width}},
          {"strides", std::vector<std::int64_t>{entry.stride_y, entry.stride_x}},
          {"pads", pads_of(padding)}},
         Layout::ChannelsFirst);
    return {};
  }

  Result<void> convert_addition(const TfliteOperator& entry) {
    if (entry.inputs.size() != 2) return wrong_shape();
    int first = entry.inputs[0];
    int second = entry.inputs[1];
    if (constants_.contains(first)) std::swap(first, second);
    if (!computed(first) || tensor(first).shape != tensor(entry.outputs.front()).shape) {
      return wrong_shape();
    }
    std::string other;
    if (constants_.contains(second)) {
      other = name(entry.outputs.front()) + "_constant";
      if (auto added = add_constant_operand(first, second, other); !added) return added;
    } else {
      if (layout_of(second) != layout_of(first) || tensor(second).shape != tensor(first).shape) {
        return wrong_shape();
      }
      other = name(second);
    }
    emit(entry, "Add", {name(first), other}, {}, layout_of(first));
    return {};
  }

  // A constant summand: one value a channel, or one for each element.
  Result<void> add_constant_operand(int first, int second, const std::string& operand) {
    const std::vector<float> values = LINTEL_TRY(constants_.floats(second));
    const std::vector<int>& shape = tensor(first).shape;
    if (layout_of(first) == Layout::AsStored) {
      if (values.size() != tensor(first).element_count()) return wrong_shape();
      initializer(operand, {shape.begin(), shape.end()}, values);
      return {};
    }
    const auto channels = static_cast<std::size_t>(shape[3]);
    const auto pixels = static_cast<std::size_t>(shape[1]) * static_cast<std::size_t>(shape[2]);
    if (values.size() == channels) {
      initializer(operand, {1, shape[3], 1, 1}, values);
      return {};
    }
    if (values.size() != channels * pixels) return wrong_shape();
    std::vector<float> turned(values.size());
    for (std::size_t p = 0; p < pixels; ++p) {
      for (std::size_t c = 0; c < channels; ++c) turned[c * pixels + p] = values[p * channels + c];
    }
    initializer(operand, {1, shape[3], shape[1], shape[2]}, std::move(turned));
    return {};
  }

  Result<void> convert_pad(const TfliteOperator& entry) {
    if (entry.inputs.size() != 2 || !is_picture(entry.inputs[0])) return wrong_shape();
    const std::vector<std::int64_t> pairs = LINTEL_TRY(constants_.integers(entry.inputs[1]));
    if (pairs.size() != 8) return wrong_shape();
    const std::vector<int>& in = tensor(entry.inputs[0]).shape;
    const std::vector<int>& out = tensor(entry.outputs.front()).shape;
    if (out.size() != 4) return wrong_shape();
    for (std::size_t d = 0; d < 4; ++d) {
      const std::int64_t before = pairs[2 * d];
      const std::int64_t after = pairs[2 * d + 1];
      if (before < 0 || after < 0 || before > 4096 || after > 4096 ||
          in[d] + before + after != out[d]) {
        return wrong_shape();
      }
    }
    const std::string operand = name(entry.outputs.front()) + "_pads";
    // N,H,W,C pairs to N,C,H,W: all befores, then all afters.
    initializer(operand, {pairs[0], pairs[6], pairs[2], pairs[4],  //
                          pairs[1], pairs[7], pairs[3], pairs[5]});
    emit(entry, "Pad", {name(entry.inputs[0]), operand}, {{"mode", std::string("constant")}},
         Layout::ChannelsFirst);
    return {};
  }

  Result<void> convert_resize(const TfliteOperator& entry) {
    if (!is_picture(entry.inputs[0])) return wrong_shape();
    if (entry.align_corners || !entry.half_pixel_centers) {
      return fail(ErrorCode::Unsupported,
                  "a resize of the network does not use half pixel centers");
    }
    const std::vector<int>& in = tensor(entry.inputs[0]).shape;
    const std::vector<int>& out = tensor(entry.outputs.front()).shape;
    if (out.size() != 4 || out[3] != in[3] || out[1] % in[1] != 0 || out[2] % in[2] != 0) {
      return wrong_shape();
    }
    const std::string operand = name(entry.outputs.front()) + "_scales";
    initializer(operand, {4},
                std::vector<float>{1.0F, 1.0F, static_cast<float>(out[1] / in[1]),
                                   static_cast<float>(out[2] / in[2])});
    emit(entry, "Resize", {name(entry.inputs[0]), "", operand},
         {{"mode", std::string("linear")},
          {"coordinate_transformation_mode", std::string("half_pixel")}},
         Layout::ChannelsFirst);
    return {};
  }

  Result<void> convert_depth_to_space(const TfliteOperator& entry) {
    if (!is_picture(entry.inputs[0])) return wrong_shape();
    const std::vector<int>& in = tensor(entry.inputs[0]).shape;
    const std::vector<int>& out = tensor(entry.outputs.front()).shape;
    const std::int64_t block = entry.block_size;
    if (out.size() != 4 || out[1] != in[1] * block || out[2] != in[2] * block ||
        out[3] * block * block != in[3]) {
      return wrong_shape();
    }
    emit(entry, "DepthToSpace", {name(entry.inputs[0])},
         {{"blocksize", block}, {"mode", std::string("DCR")}}, Layout::ChannelsFirst);
    return {};
  }

  Result<void> convert_reshape(const TfliteOperator& entry) {
    const int input = entry.inputs[0];
    const int output = entry.outputs.front();
    if (!computed(input) || tensor(input).element_count() != tensor(output).element_count() ||
        tensor(output).shape.empty()) {
      return wrong_shape();
    }
    std::string source = name(input);
    if (is_picture(input)) {  // back to NHWC, or channels and places are scrambled
      source = name(output) + "_nhwc";
      onnx_.nodes.push_back(
          {"Transpose", {name(input)}, source, {{"perm", std::vector<std::int64_t>{0, 2, 3, 1}}}});
    }
    const std::string operand = name(output) + "_shape";
    const std::vector<int>& shape = tensor(output).shape;
    initializer(operand, std::vector<std::int64_t>(shape.begin(), shape.end()));
    emit(entry, "Reshape", {source, operand}, {}, Layout::AsStored);
    return {};
  }

  Result<void> convert_concatenation(const TfliteOperator& entry) {
    const Layout layout = layout_of(entry.inputs.front());
    const std::vector<int>& out = tensor(entry.outputs.front()).shape;
    if (layout == Layout::Unset || entry.axis < 0 ||
        static_cast<std::size_t>(entry.axis) >= out.size()) {
      return wrong_shape();
    }
    const auto axis = static_cast<std::size_t>(entry.axis);
    std::int64_t total = 0;
    std::vector<std::string> inputs;
    for (const int input : entry.inputs) {
      if (layout_of(input) != layout || tensor(input).shape.size() != out.size()) {
        return wrong_shape();
      }
      for (std::size_t d = 0; d < out.size(); ++d) {
        if (d != axis && tensor(input).shape[d] != out[d]) return wrong_shape();
      }
      total += tensor(input).shape[axis];
      inputs.push_back(name(input));
    }
    if (total != out[axis]) return wrong_shape();
    constexpr std::int64_t kChannelsFirstAxis[] = {0, 2, 3, 1};
    const std::int64_t onnx_axis =
        layout == Layout::ChannelsFirst ? kChannelsFirstAxis[axis] : entry.axis;
    emit(entry, "Concat", std::move(inputs), {{"axis", onnx_axis}}, layout);
    return {};
  }

  const TfliteGraph& graph_;
  DepthwiseForm depthwise_form_;
  std::vector<Layout> layout_;
  Constants constants_;
  OnnxGraph onnx_;
};

}  // namespace

Result<OnnxGraph> convert_to_onnx(const TfliteGraph& graph,
                                  std::span<const std::size_t> kept_elements,
                                  DepthwiseForm depthwise) {
  return Converter(graph, depthwise).convert(kept_elements);
}

}  // namespace lintel::pose
