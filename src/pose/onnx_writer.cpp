#include "pose/onnx_writer.h"

#include <bit>
#include <cstring>
#include <string_view>

namespace lintel::pose {
namespace {

static_assert(std::endian::native == std::endian::little, "raw_data is little endian");

constexpr std::int64_t kIrVersion = 6;
constexpr std::int64_t kOperatorSet = 12;
constexpr std::int64_t kFloat = 1;  // TensorProto.DataType
constexpr std::int64_t kInt64 = 7;

// Protocol buffer wire format: a key (field * 8 + wire type), then varint, 4 bytes or length and
// bytes.
class Message {
 public:
  void varint_field(int field, std::uint64_t value) {
    key(field, 0);
    varint(value);
  }
  void float_field(int field, float value) {
    key(field, 5);
    std::uint8_t raw[4];
    std::memcpy(raw, &value, 4);
    bytes_.insert(bytes_.end(), raw, raw + 4);
  }
  void bytes_field(int field, const void* data, std::size_t size) {
    key(field, 2);
    varint(size);
    const auto* first = static_cast<const std::uint8_t*>(data);
    bytes_.insert(bytes_.end(), first, first + size);
  }
  void text_field(int field, std::string_view text) {
    bytes_field(field, text.data(), text.size());
  }
  void message_field(int field, const Message& inner) {
    bytes_field(field, inner.bytes_.data(), inner.bytes_.size());
  }
  void reserve(std::size_t size) { bytes_.reserve(size); }
  std::vector<std::uint8_t> take() { return std::move(bytes_); }

 private:
  void key(int field, int wire) {
    varint(static_cast<std::uint64_t>(field) * 8 + static_cast<std::uint64_t>(wire));
  }
  void varint(std::uint64_t value) {
    while (value >= 0x80) {
      bytes_.push_back(static_cast<std::uint8_t>(value | 0x80));
      value >>= 7;
    }
    bytes_.push_back(static_cast<std::uint8_t>(value));
  }
  std::vector<std::uint8_t> bytes_;
};

Message tensor_message(const OnnxTensor& tensor) {
  Message message;
  for (const std::int64_t size : tensor.shape) {
    message.varint_field(1, static_cast<std::uint64_t>(size));
  }
  message.varint_field(2,
                       std::holds_alternative<std::vector<float>>(tensor.values) ? kFloat : kInt64);
  message.text_field(8, tensor.name);
  std::visit(
      [&](const auto& values) {
        message.bytes_field(9, values.data(), values.size() * sizeof(values[0]));
      },
      tensor.values);
  return message;
}

Message attribute_message(const OnnxAttribute& attribute) {
  Message message;
  message.text_field(1, attribute.name);
  if (const auto* integer = std::get_if<std::int64_t>(&attribute.value)) {
    message.varint_field(3, static_cast<std::uint64_t>(*integer));
    message.varint_field(20, 2);
  } else if (const auto* real = std::get_if<float>(&attribute.value)) {
    message.float_field(2, *real);
    message.varint_field(20, 1);
  } else if (const auto* text = std::get_if<std::string>(&attribute.value)) {
    message.text_field(4, *text);
    message.varint_field(20, 3);
  } else {
    for (const std::int64_t value : std::get<std::vector<std::int64_t>>(attribute.value)) {
      message.varint_field(8, static_cast<std::uint64_t>(value));
    }
    message.varint_field(20, 7);
  }
  return message;
}

Message node_message(const OnnxNode& node) {
  Message message;
  for (const std::string& input : node.inputs) message.text_field(1, input);
  message.text_field(2, node.output);
  message.text_field(3, node.output);
  message.text_field(4, node.operation);
  for (const OnnxAttribute& attribute : node.attributes) {
    message.message_field(5, attribute_message(attribute));
  }
  return message;
}

Message value_message(const OnnxValue& value) {
  Message shape;
  for (const std::int64_t size : value.shape) {
    Message dimension;
    dimension.varint_field(1, static_cast<std::uint64_t>(size));
    shape.message_field(1, dimension);
  }
  Message tensor_type;
  tensor_type.varint_field(1, kFloat);
  tensor_type.message_field(2, shape);
  Message type;
  type.message_field(1, tensor_type);
  Message message;
  message.text_field(1, value.name);
  message.message_field(2, type);
  return message;
}

std::size_t initializer_bytes(const OnnxGraph& graph) {
  std::size_t total = 0;
  for (const OnnxTensor& tensor : graph.initializers) {
    std::visit([&](const auto& values) { total += values.size() * sizeof(values[0]) + 64; },
               tensor.values);
  }
  return total;
}

}  // namespace

std::vector<std::uint8_t> write_onnx(const OnnxGraph& graph) {
  Message body;
  body.reserve(initializer_bytes(graph) + graph.nodes.size() * 128);
  for (const OnnxNode& node : graph.nodes) body.message_field(1, node_message(node));
  body.text_field(2, "network");
  for (const OnnxTensor& tensor : graph.initializers) {
    body.message_field(5, tensor_message(tensor));
  }
  for (const OnnxValue& value : graph.inputs) body.message_field(11, value_message(value));
  for (const OnnxValue& value : graph.outputs) body.message_field(12, value_message(value));

  Message operator_set;
  operator_set.text_field(1, "");
  operator_set.varint_field(2, kOperatorSet);
  Message model;
  model.reserve(initializer_bytes(graph) + graph.nodes.size() * 128 + 256);
  model.varint_field(1, kIrVersion);
  model.text_field(2, "lintel");
  model.message_field(7, body);
  model.message_field(8, operator_set);
  return model.take();
}

}  // namespace lintel::pose
