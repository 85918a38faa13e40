#include "pose/tflite_reader.h"

#include <algorithm>
#include <limits>

#include "pose/flatbuffer_view.h"

namespace lintel::pose {
namespace {

// Far above what the four networks need (heavy: 28 MB, 1100 tensors), far below what hurts.
constexpr std::size_t kMaxFileBytes = std::size_t{256} << 20;
constexpr std::size_t kMaxTensors = 10'000;
constexpr std::size_t kMaxOperators = 10'000;
constexpr std::size_t kMaxRank = 4;
constexpr std::size_t kMaxElements = std::size_t{1} << 26;
constexpr std::size_t kMaxOperands = 32;
constexpr std::size_t kMaxNameBytes = 512;
constexpr std::size_t kMaxListLength = kMaxFileBytes;
constexpr int kMaxStep = 64;  // stride, dilation, filter side

using Table = FlatbufferView::Table;
using Vector = FlatbufferView::Vector;

bool known_operator(std::int32_t code) {
  switch (static_cast<OperatorCode>(code)) {
    case OperatorCode::Add:
    case OperatorCode::Concatenation:
    case OperatorCode::Conv2d:
    case OperatorCode::DepthwiseConv2d:
    case OperatorCode::DepthToSpace:
    case OperatorCode::Dequantize:
    case OperatorCode::Logistic:
    case OperatorCode::MaxPool2d:
    case OperatorCode::Reshape:
    case OperatorCode::ResizeBilinear:
    case OperatorCode::Pad:
    case OperatorCode::Densify:
      return code >= 0 && code < 256;
  }
  return false;
}

class Reader {
 public:
  explicit Reader(std::span<const std::uint8_t> file) : view_(file) {}

  Result<TfliteGraph> read() {
    const auto file = view_.bytes();
    if (file.size() > kMaxFileBytes) {
      return fail(ErrorCode::Limit, "the network file is larger than 256 MiB");
    }
    if (file.size() < 8 || !std::equal(file.begin() + 4, file.begin() + 8, "TFL3")) {
      view_.fault(4, "not a network file of the expected kind (no TFL3 mark)");
      return fail(view_.error());
    }
    const Table model = view_.root();
    if (model && view_.int_field(model, 0, 0) != 3) {
      view_.fault(model.position, "the network file is not of schema version 3",
                  ErrorCode::Unsupported);
    }
    read_operator_codes(model);
    const Vector subgraphs = view_.vector_field(model, 2, 4, kMaxTensors);
    if (view_.ok() && subgraphs.count != 1) {
      view_.fault(model.position, "the network file must hold exactly one graph",
                  ErrorCode::Unsupported);
    }
    buffers_ = view_.vector_field(model, 4, 4, kMaxTensors);
    const Table subgraph = view_.table_at(subgraphs, 0);
    read_tensors(subgraph);
    graph_.inputs = read_tensor_indices(subgraph, 1, false);
    graph_.outputs = read_tensor_indices(subgraph, 2, false);
    read_operators(subgraph);
    if (view_.ok() && (graph_.inputs.size() != 1 || graph_.outputs.empty())) {
      view_.fault(subgraph.position, "the network must have one input and at least one output");
    }
    if (!view_.ok()) return fail(view_.error());
    return std::move(graph_);
  }

 private:
  void read_operator_codes(const Table& model) {
    const Vector codes = view_.vector_field(model, 1, 4, 256);
    for (std::size_t i = 0; i < codes.count && view_.ok(); ++i) {
      const Table entry = view_.table_at(codes, i);
      // Old writers fill only the byte field, new ones the int field: the larger one counts.
      const std::int32_t code = std::max<std::int32_t>(
          static_cast<std::int8_t>(view_.byte_field(entry, 0, 0)), view_.int_field(entry, 3, 0));
      if (view_.ok() && !known_operator(code)) {
        view_.fault(entry.position, "operator " + std::to_string(code) + " is not supported",
                    ErrorCode::Unsupported);
      }
      codes_.push_back(static_cast<OperatorCode>(code));
    }
  }

  std::vector<int> read_tensor_indices(const Table& table, int field, bool allow_absent) {
    const Vector list = view_.vector_field(table, field, 4, kMaxOperands);
    std::vector<int> indices;
    indices.reserve(list.count);
    for (std::size_t i = 0; i < list.count && view_.ok(); ++i) {
      const int index = view_.read_int(list.begin + 4 * i);
      const bool absent = allow_absent && index == -1;
      if (!absent && (index < 0 || static_cast<std::size_t>(index) >= graph_.tensors.size())) {
        view_.fault(list.begin + 4 * i, "tensor " + std::to_string(index) + " does not exist");
      }
      indices.push_back(index);
    }
    return indices;
  }

  void read_tensors(const Table& subgraph) {
    const Vector tensors = view_.vector_field(subgraph, 0, 4, kMaxTensors);
    graph_.tensors.reserve(tensors.count);
    for (std::size_t i = 0; i < tensors.count && view_.ok(); ++i) {
      graph_.tensors.push_back(read_tensor(view_.table_at(tensors, i)));
    }
  }

  TfliteTensor read_tensor(const Table& table) {
    TfliteTensor tensor;
    const Vector shape = view_.vector_field(table, 0, 4, kMaxRank);
    std::size_t elements = 1;
    for (std::size_t i = 0; i < shape.count && view_.ok(); ++i) {
      const int size = view_.read_int(shape.begin + 4 * i);
      if (size < 1 || static_cast<std::size_t>(size) > kMaxElements / elements) {
        view_.fault(shape.begin + 4 * i, "tensor size " + std::to_string(size) + " is not possible",
                    size < 1 ? ErrorCode::Invalid : ErrorCode::Limit);
        return tensor;
      }
      elements *= static_cast<std::size_t>(size);
      tensor.shape.push_back(size);
    }
    const std::uint8_t type = view_.byte_field(table, 1, 0);
    if (type > static_cast<std::uint8_t>(ElementType::Int64)) {
      view_.fault(table.position, "element type " + std::to_string(type) + " is not supported",
                  ErrorCode::Unsupported);
      return tensor;
    }
    tensor.type = static_cast<ElementType>(type);
    tensor.name = view_.string_field(table, 3, kMaxNameBytes);
    read_data(table, tensor);
    const Table sparsity = view_.table_field(table, 6);
    if (sparsity) read_sparsity(sparsity, tensor);
    if (tensor.constant() && !tensor.sparse && view_.ok() &&
        tensor.data.size() != elements * element_size(tensor.type)) {
      view_.fault(tensor.data_offset, "a constant's data do not fill its shape");
    }
    return tensor;
  }

  void read_data(const Table& table, TfliteTensor& tensor) {
    const std::int32_t buffer = view_.int_field(table, 2, 0);
    if (!view_.ok()) return;
    if (buffer < 0 || static_cast<std::size_t>(buffer) >= buffers_.count) {
      view_.fault(table.position, "buffer " + std::to_string(buffer) + " does not exist");
      return;
    }
    const Table entry = view_.table_at(buffers_, static_cast<std::size_t>(buffer));
    const Vector data = view_.vector_field(entry, 0, 1, kMaxFileBytes);
    if (data.count == 0) return;
    tensor.data = view_.span_of(data, 1);
    tensor.data_offset = data.begin;
  }

  IndexList read_index_list(const Table& dimension, int type_field) {
    // Union of one-field tables: 1 = int32, 2 = uint16, 3 = uint8 values.
    const std::uint8_t kind = view_.byte_field(dimension, type_field, 0);
    IndexList list;
    list.width = kind == 1 ? 4 : kind == 2 ? 2 : 1;
    if (kind < 1 || kind > 3) {
      view_.fault(dimension.position, "a sparse weight has an unknown kind of index list",
                  ErrorCode::Unsupported);
      return list;
    }
    const Table holder = view_.table_field(dimension, type_field + 1);
    const Vector values = view_.vector_field(holder, 0, list.width, kMaxListLength);
    if (view_.ok()) list.bytes = view_.span_of(values, list.width);
    return list;
  }

  void read_sparsity(const Table& sparsity, TfliteTensor& tensor) {
    const std::size_t rank = tensor.shape.size();
    const Vector order = view_.vector_field(sparsity, 0, 4, kMaxRank);
    const Vector blocks = view_.vector_field(sparsity, 1, 4, kMaxRank);
    const Vector dimensions = view_.vector_field(sparsity, 2, 4, kMaxRank);
    bool supported = rank == 4 && order.count == 4 && dimensions.count == 4 && blocks.count == 0;
    for (std::size_t i = 0; supported && i < rank; ++i) {
      supported = view_.read_int(order.begin + 4 * i) == static_cast<int>(i);
      const Table dimension = view_.table_at(dimensions, i);
      const std::uint8_t format = view_.byte_field(dimension, 0, 0);
      supported = supported && format == (i == 3 ? 1 : 0);
      if (supported && i < 3 && view_.int_field(dimension, 1, 0) != tensor.shape[i]) {
        view_.fault(dimension.position, "a sparse weight disagrees with its shape");
      }
    }
    if (!supported) {
      view_.fault(sparsity.position, "a sparse weight is laid out in an unknown way",
                  ErrorCode::Unsupported);
    }
    if (!view_.ok()) return;
    const Table last = view_.table_at(dimensions, 3);
    SparseRows rows{read_index_list(last, 2), read_index_list(last, 4)};
    check_sparse_rows(last, rows, tensor);
    tensor.sparse = rows;
  }

  void check_sparse_rows(const Table& last, const SparseRows& rows, const TfliteTensor& tensor) {
    if (!view_.ok()) return;
    const auto row_count = static_cast<std::size_t>(tensor.shape[0]) *
                           static_cast<std::size_t>(tensor.shape[1]) *
                           static_cast<std::size_t>(tensor.shape[2]);
    const std::size_t values = tensor.data.size() / element_size(tensor.type);
    bool good = rows.segments.size() == row_count + 1 && rows.indices.size() == values &&
                values * element_size(tensor.type) == tensor.data.size();
    for (std::size_t r = 0; good && r <= row_count; ++r) {
      const std::int64_t low = r == 0 ? 0 : rows.segments[r - 1];
      good = rows.segments[r] >= low && rows.segments[r] <= static_cast<std::int64_t>(values);
    }
    good = good && rows.segments[0] == 0 &&
           rows.segments[row_count] == static_cast<std::int64_t>(values);
    for (std::size_t k = 0; good && k < values; ++k) {
      good = rows.indices[k] >= 0 && rows.indices[k] < tensor.shape[3];
    }
    if (!good) view_.fault(last.position, "a sparse weight's index lists are damaged");
  }

  void read_operators(const Table& subgraph) {
    const Vector operators = view_.vector_field(subgraph, 3, 4, kMaxOperators);
    graph_.operators.reserve(operators.count);
    for (std::size_t i = 0; i < operators.count && view_.ok(); ++i) {
      const Table table = view_.table_at(operators, i);
      TfliteOperator entry;
      entry.file_offset = table.position;
      const std::int32_t code = view_.int_field(table, 0, 0);
      if (!view_.ok()) return;
      if (code < 0 || static_cast<std::size_t>(code) >= codes_.size()) {
        view_.fault(table.position, "an operator names a code that does not exist");
        return;
      }
      entry.code = codes_[static_cast<std::size_t>(code)];
      entry.inputs = read_tensor_indices(table, 1, true);
      entry.outputs = read_tensor_indices(table, 2, false);
      if (view_.ok() && (entry.inputs.empty() || entry.outputs.size() != 1)) {
        view_.fault(table.position, "an operator must have inputs and one output");
      }
      read_options(table, entry);
      graph_.operators.push_back(std::move(entry));
    }
  }

  int step(const Table& options, int field, int absent) {
    const int value = view_.int_field(options, field, absent);
    if (view_.ok() && (value < 1 || value > kMaxStep)) {
      view_.fault(options.position, "a stride, dilation or filter size is out of range");
    }
    return value;
  }

  void read_activation(const Table& options, int field, TfliteOperator& entry) {
    const std::uint8_t value = view_.byte_field(options, field, 0);
    if (value != 0 && value != 1 && value != 3) {
      view_.fault(options.position, "activation " + std::to_string(value) + " is not supported",
                  ErrorCode::Unsupported);
      return;
    }
    entry.activation = static_cast<Activation>(value);
  }

  void read_window(const Table& options, TfliteOperator& entry) {
    const std::uint8_t padding = view_.byte_field(options, 0, 0);
    if (padding > 1) view_.fault(options.position, "unknown padding", ErrorCode::Unsupported);
    entry.padding = padding == 1 ? PaddingMode::Valid : PaddingMode::Same;
    entry.stride_x = step(options, 1, 1);
    entry.stride_y = step(options, 2, 1);
  }

  // Field numbers are those of the schema; note that DEPTHWISE_CONV_2D has its depth multiplier
  // before the activation.
  void read_options(const Table& table, TfliteOperator& entry) {
    const Table options = view_.table_field(table, 4);
    if (!view_.ok()) return;
    switch (entry.code) {
      case OperatorCode::Conv2d:
        read_window(options, entry);
        read_activation(options, 3, entry);
        entry.dilation_x = step(options, 4, 1);
        entry.dilation_y = step(options, 5, 1);
        break;
      case OperatorCode::DepthwiseConv2d:
        read_window(options, entry);
        entry.depth_multiplier = step(options, 3, 1);
        read_activation(options, 4, entry);
        entry.dilation_x = step(options, 5, 1);
        entry.dilation_y = step(options, 6, 1);
        break;
      case OperatorCode::MaxPool2d:
        read_window(options, entry);
        entry.filter_width = step(options, 3, 1);
        entry.filter_height = step(options, 4, 1);
        read_activation(options, 5, entry);
        break;
      case OperatorCode::Add:
        read_activation(options, 0, entry);
        break;
      case OperatorCode::Concatenation:
        entry.axis = view_.int_field(options, 0, 0);
        read_activation(options, 1, entry);
        break;
      case OperatorCode::ResizeBilinear:
        entry.align_corners = view_.byte_field(options, 2, 0) != 0;
        entry.half_pixel_centers = view_.byte_field(options, 3, 0) != 0;
        break;
      case OperatorCode::DepthToSpace:
        entry.block_size = step(options, 0, 1);
        break;
      case OperatorCode::Dequantize:
      case OperatorCode::Logistic:
      case OperatorCode::Reshape:
      case OperatorCode::Pad:
      case OperatorCode::Densify:
        break;
    }
  }

  FlatbufferView view_;
  Vector buffers_;
  std::vector<OperatorCode> codes_;
  TfliteGraph graph_;
};

}  // namespace

std::size_t element_size(ElementType type) {
  switch (type) {
    case ElementType::Float32:
    case ElementType::Int32:
      return 4;
    case ElementType::Float16:
      return 2;
    case ElementType::UInt8:
      return 1;
    case ElementType::Int64:
      return 8;
  }
  return 1;
}

std::int64_t IndexList::operator[](std::size_t i) const {
  std::uint32_t value = 0;
  for (std::size_t b = 0; b < width; ++b) {
    value |= static_cast<std::uint32_t>(bytes[i * width + b]) << (8 * b);
  }
  return width == 4 ? static_cast<std::int64_t>(static_cast<std::int32_t>(value))
                    : static_cast<std::int64_t>(value);
}

std::size_t TfliteTensor::element_count() const {
  std::size_t count = 1;
  for (const int size : shape) count *= static_cast<std::size_t>(size);
  return count;
}

Result<TfliteGraph> read_tflite(std::span<const std::uint8_t> file) {
  return Reader(file).read();
}

}  // namespace lintel::pose
