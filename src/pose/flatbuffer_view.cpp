#include "pose/flatbuffer_view.h"

#include <utility>

namespace lintel::pose {

Error FlatbufferView::error() const {
  Error error{fault_code_, message_, {}, "fetch the network files again: run scripts/setup", {}};
  error.place.field = "byte " + std::to_string(fault_position_);
  return error;
}

void FlatbufferView::fault(std::size_t position, std::string message, ErrorCode code) {
  if (!ok()) return;  // the first fault is the one that explains
  message_ = std::move(message);
  fault_position_ = position;
  fault_code_ = code;
}

bool FlatbufferView::inside(std::size_t position, std::size_t length) {
  if (!ok()) return false;
  if (position <= bytes_.size() && length <= bytes_.size() - position) return true;
  fault(position, "the network file ends before what it refers to");
  return false;
}

std::uint64_t FlatbufferView::read_unsigned(std::size_t position, std::size_t width) {
  if (!inside(position, width)) return 0;
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < width; ++i) {
    value |= static_cast<std::uint64_t>(bytes_[position + i]) << (8 * i);
  }
  return value;
}

std::int32_t FlatbufferView::read_int(std::size_t position) {
  return static_cast<std::int32_t>(static_cast<std::uint32_t>(read_unsigned(position, 4)));
}

std::size_t FlatbufferView::follow(std::size_t position) {
  const auto offset = static_cast<std::size_t>(read_unsigned(position, 4));
  if (!ok()) return 0;
  if (offset == 0) {
    fault(position, "an offset of the network file is zero");
    return 0;
  }
  return inside(position + offset, 4) ? position + offset : 0;
}

FlatbufferView::Table FlatbufferView::table_from(std::size_t position) {
  if (position == 0 || !inside(position, 4)) return {};
  const std::int64_t back = read_int(position);
  const std::int64_t vtable = static_cast<std::int64_t>(position) - back;
  if (vtable < 0 || vtable > static_cast<std::int64_t>(bytes_.size())) {
    fault(position, "a table of the network file points outside of it");
    return {};
  }
  Table table;
  table.position = position;
  table.vtable = static_cast<std::size_t>(vtable);
  table.vtable_size = static_cast<std::size_t>(read_unsigned(table.vtable, 2));
  table.size = static_cast<std::size_t>(read_unsigned(table.vtable + 2, 2));
  if (!ok()) return {};
  if (table.vtable_size < 4 || table.vtable_size % 2 != 0 || table.size < 4) {
    fault(table.vtable, "a table description of the network file is damaged");
    return {};
  }
  if (!inside(table.vtable, table.vtable_size) || !inside(position, table.size)) return {};
  return table;
}

FlatbufferView::Table FlatbufferView::root() {
  return table_from(follow(0));
}

std::size_t FlatbufferView::field_position(const Table& table, int field, std::size_t width) {
  if (!table || !ok()) return 0;
  const std::size_t slot = 4 + 2 * static_cast<std::size_t>(field);
  if (slot + 2 > table.vtable_size) return 0;
  const auto offset = static_cast<std::size_t>(read_unsigned(table.vtable + slot, 2));
  if (offset == 0) return 0;
  if (offset < 4 || offset + width > table.size) {
    fault(table.vtable + slot, "a field of the network file lies outside its table");
    return 0;
  }
  return table.position + offset;
}

std::uint8_t FlatbufferView::byte_field(const Table& table, int field, std::uint8_t absent) {
  const std::size_t position = field_position(table, field, 1);
  return position == 0 ? absent : static_cast<std::uint8_t>(read_unsigned(position, 1));
}

std::int32_t FlatbufferView::int_field(const Table& table, int field, std::int32_t absent) {
  const std::size_t position = field_position(table, field, 4);
  return position == 0 ? absent : read_int(position);
}

FlatbufferView::Table FlatbufferView::table_field(const Table& table, int field) {
  const std::size_t position = field_position(table, field, 4);
  return position == 0 ? Table{} : table_from(follow(position));
}

FlatbufferView::Vector FlatbufferView::vector_field(const Table& table, int field,
                                                    std::size_t element_width, std::size_t limit) {
  const std::size_t position = field_position(table, field, 4);
  if (position == 0) return {};
  const std::size_t start = follow(position);
  if (start == 0) return {};
  Vector vector;
  vector.begin = start + 4;
  vector.count = static_cast<std::size_t>(read_unsigned(start, 4));
  if (vector.count > limit) {
    fault(start, "a list of the network file is longer than " + std::to_string(limit),
          ErrorCode::Limit);
    return {};
  }
  if (!inside(vector.begin, vector.count * element_width)) return {};
  return vector;
}

std::string_view FlatbufferView::string_field(const Table& table, int field, std::size_t limit) {
  const Vector vector = vector_field(table, field, 1, limit);
  if (vector.count == 0) return {};
  return {reinterpret_cast<const char*>(bytes_.data() + vector.begin), vector.count};
}

FlatbufferView::Table FlatbufferView::table_at(const Vector& vector, std::size_t index) {
  if (index >= vector.count) return {};
  return table_from(follow(vector.begin + 4 * index));
}

std::span<const std::uint8_t> FlatbufferView::span_of(const Vector& vector,
                                                      std::size_t element_width) const {
  return bytes_.subspan(vector.begin, vector.count * element_width);
}

}  // namespace lintel::pose
