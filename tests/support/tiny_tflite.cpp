#include "support/tiny_tflite.h"

#include <algorithm>
#include <cstring>
#include <map>

namespace lintel::test {
namespace {

class Writer {
 public:
  std::vector<std::uint8_t> bytes;

  void align() {
    while (bytes.size() % 4 != 0) bytes.push_back(0);
  }
  void put(std::size_t at, std::uint64_t value, int width) {
    for (int i = 0; i < width; ++i) {
      bytes[at + static_cast<std::size_t>(i)] = static_cast<std::uint8_t>(value >> (8 * i));
    }
  }
  std::size_t append(std::uint64_t value, int width) {
    const std::size_t at = bytes.size();
    bytes.resize(at + static_cast<std::size_t>(width));
    put(at, value, width);
    return at;
  }
  // Fields: number in the schema -> width. Returns number -> position; all values zero.
  std::map<int, std::size_t> table(const std::map<int, int>& fields, std::size_t& position) {
    align();
    const int last = fields.empty() ? -1 : fields.rbegin()->first;
    const std::size_t vtable = bytes.size();
    bytes.resize(vtable + 4 + 2 * static_cast<std::size_t>(last + 1));
    align();
    position = bytes.size();
    append(position - vtable, 4);
    std::map<int, std::size_t> places;
    for (const auto& [number, width] : fields) {
      align();
      places[number] = append(0, width);
      put(vtable + 4 + 2 * static_cast<std::size_t>(number), places[number] - position, 2);
    }
    put(vtable, 4 + 2 * static_cast<std::uint64_t>(last + 1), 2);
    put(vtable + 2, bytes.size() - position, 2);
    return places;
  }
  void point(std::size_t from, std::size_t to) { put(from, to - from, 4); }
  std::size_t vector(const std::vector<std::uint8_t>& raw, std::size_t count) {
    align();
    const std::size_t at = append(count, 4);
    bytes.insert(bytes.end(), raw.begin(), raw.end());
    return at;
  }
  std::size_t ints(const std::vector<int>& values) {
    return vector(bytes_of(std::vector<std::int32_t>(values.begin(), values.end())), values.size());
  }
  std::size_t slots(std::size_t count) {  // a vector of tables still to come
    align();
    const std::size_t at = append(count, 4);
    bytes.resize(bytes.size() + 4 * count);
    return at;
  }
};

void write_sparsity(Writer& w, std::size_t from, const TinySparsity& sparsity) {
  std::size_t position = 0;
  const auto places = w.table({{0, 4}, {2, 4}}, position);
  w.point(from, position);
  w.point(places.at(0), w.ints({0, 1, 2, 3}));
  const std::size_t list = w.slots(4);
  w.point(places.at(2), list);
  for (std::size_t d = 0; d < 4; ++d) {
    std::size_t dimension = 0;
    if (d < 3) {
      const auto p = w.table({{0, 1}, {1, 4}}, dimension);
      w.put(p.at(1), static_cast<std::uint64_t>(sparsity.dense_sizes[d]), 4);
    } else {
      const auto p = w.table({{0, 1}, {2, 1}, {3, 4}, {4, 1}, {5, 4}}, dimension);
      w.put(p.at(0), 1, 1);
      for (const int field : {2, 4}) {
        w.put(p.at(field), 3, 1);  // uint8 list
        std::size_t holder = 0;
        const auto values = w.table({{0, 4}}, holder);
        w.point(p.at(field + 1), holder);
        const auto& raw = field == 2 ? sparsity.segments : sparsity.indices;
        w.point(values.at(0), w.vector(raw, raw.size()));
      }
    }
    w.point(list + 4 + 4 * d, dimension);
  }
}

void write_tensors(Writer& w, std::size_t list, const TinyModel& model) {
  for (std::size_t i = 0; i < model.tensors.size(); ++i) {
    const TinyTensor& tensor = model.tensors[i];
    std::map<int, int> fields = {{0, 4}, {1, 1}, {2, 4}};
    if (tensor.sparsity) fields[6] = 4;
    std::size_t position = 0;
    const auto places = w.table(fields, position);
    w.point(list + 4 + 4 * i, position);
    w.put(places.at(1), tensor.type, 1);
    w.put(places.at(2), tensor.data.empty() ? 0 : i + 1, 4);
    w.point(places.at(0), w.ints(tensor.shape));
    if (tensor.sparsity) write_sparsity(w, places.at(6), *tensor.sparsity);
  }
}

void write_operators(Writer& w, std::size_t list, const TinyModel& model) {
  for (std::size_t i = 0; i < model.operators.size(); ++i) {
    const TinyOperator& entry = model.operators[i];
    std::size_t position = 0;
    const auto places = w.table({{0, 4}, {1, 4}, {2, 4}, {4, 4}}, position);
    w.point(list + 4 + 4 * i, position);
    w.put(places.at(0), i, 4);  // one operator code an operator
    w.point(places.at(1), w.ints(entry.inputs));
    w.point(places.at(2), w.ints(entry.outputs));
    std::map<int, int> fields;
    for (const TinyOption& option : entry.options) fields[option.field] = option.width;
    std::size_t options = 0;
    const auto option_places = w.table(fields, options);
    w.point(places.at(4), options);
    for (const TinyOption& option : entry.options) {
      w.put(option_places.at(option.field), static_cast<std::uint32_t>(option.value), option.width);
    }
  }
}

template <typename T>
std::vector<std::uint8_t> raw_bytes(const std::vector<T>& values) {
  std::vector<std::uint8_t> raw(values.size() * sizeof(T));
  if (!raw.empty()) std::memcpy(raw.data(), values.data(), raw.size());
  return raw;
}

}  // namespace

std::vector<std::uint8_t> bytes_of(const std::vector<float>& values) {
  return raw_bytes(values);
}
std::vector<std::uint8_t> bytes_of(const std::vector<std::int32_t>& values) {
  return raw_bytes(values);
}
std::vector<std::uint8_t> bytes_of(const std::vector<std::uint16_t>& values) {
  return raw_bytes(values);
}

std::vector<std::uint8_t> write_tiny(const TinyModel& model) {
  Writer w;
  w.append(0, 4);
  for (const char c : {'T', 'F', 'L', '3'}) w.bytes.push_back(static_cast<std::uint8_t>(c));
  std::size_t root = 0;
  const auto top = w.table({{0, 4}, {1, 4}, {2, 4}, {4, 4}}, root);
  w.point(0, root);
  w.put(top.at(0), static_cast<std::uint64_t>(model.version), 4);

  const std::size_t codes = w.slots(model.operators.size());
  w.point(top.at(1), codes);
  for (std::size_t i = 0; i < model.operators.size(); ++i) {
    std::size_t position = 0;
    const auto places = w.table({{0, 1}, {3, 4}}, position);
    w.point(codes + 4 + 4 * i, position);
    w.put(places.at(0), static_cast<std::uint64_t>(std::min(model.operators[i].code, 127)), 1);
    w.put(places.at(3), static_cast<std::uint64_t>(model.operators[i].code), 4);
  }

  const std::size_t buffers = w.slots(model.tensors.size() + 1);
  w.point(top.at(4), buffers);
  for (std::size_t i = 0; i <= model.tensors.size(); ++i) {
    std::size_t position = 0;
    if (i == 0 || model.tensors[i - 1].data.empty()) {
      w.table({}, position);
    } else {
      const auto places = w.table({{0, 4}}, position);
      w.point(places.at(0), w.vector(model.tensors[i - 1].data, model.tensors[i - 1].data.size()));
    }
    w.point(buffers + 4 + 4 * i, position);
  }

  const std::size_t subgraphs = w.slots(1);
  w.point(top.at(2), subgraphs);
  std::size_t subgraph = 0;
  const auto parts = w.table({{0, 4}, {1, 4}, {2, 4}, {3, 4}}, subgraph);
  w.point(subgraphs + 4, subgraph);
  const std::size_t tensors = w.slots(model.tensors.size());
  w.point(parts.at(0), tensors);
  write_tensors(w, tensors, model);
  w.point(parts.at(1), w.ints(model.inputs));
  w.point(parts.at(2), w.ints(model.outputs));
  const std::size_t operators = w.slots(model.operators.size());
  w.point(parts.at(3), operators);
  write_operators(w, operators, model);
  w.align();
  return w.bytes;
}

TinyModel tiny_convolution() {
  TinyModel model;
  // Weights O,H,W,C: filter 0 is one at (0, 0), filter 1 at (2, 2).
  std::vector<float> weights(18, 0.0F);
  weights[0] = 1;
  weights[17] = 1;
  model.tensors = {{{1, 4, 4, 1}, 0, {}, {}},
                   {{2, 3, 3, 1}, 0, bytes_of(weights), {}},
                   {{2}, 0, bytes_of(std::vector<float>{-1, -1}), {}},
                   {{1, 2, 2, 2}, 0, {}, {}}};
  model.operators = {{3, {0, 1, 2}, {3}, {{0, 0, 1}, {1, 2, 4}, {2, 2, 4}, {3, 1, 1}}}};
  model.outputs = {3};
  return model;
}

}  // namespace lintel::test
