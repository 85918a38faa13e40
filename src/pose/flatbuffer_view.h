// Bounds-checked access to a flatbuffer. After the first fault every read gives zero or empty and
// the fault is kept, so that a parser can be written straight and ask once.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel::pose {

class FlatbufferView {
 public:
  // A table whose extent and vtable have been checked; position 0 = absent.
  struct Table {
    std::size_t position = 0;
    std::size_t size = 0;
    std::size_t vtable = 0;
    std::size_t vtable_size = 0;
    explicit operator bool() const { return position != 0; }
  };
  // A vector whose extent has been checked.
  struct Vector {
    std::size_t begin = 0;  // of the first element
    std::size_t count = 0;
  };

  explicit FlatbufferView(std::span<const std::uint8_t> bytes) : bytes_(bytes) {}

  bool ok() const { return message_.empty(); }
  Error error() const;
  void fault(std::size_t position, std::string message, ErrorCode code = ErrorCode::Invalid);

  std::span<const std::uint8_t> bytes() const { return bytes_; }
  std::uint64_t read_unsigned(std::size_t position, std::size_t width);  // width 1, 2, 4, 8
  std::int32_t read_int(std::size_t position);

  Table root();
  // Fields by their number in the schema; absent fields give the default.
  std::uint8_t byte_field(const Table& table, int field, std::uint8_t absent);
  std::int32_t int_field(const Table& table, int field, std::int32_t absent);
  Table table_field(const Table& table, int field);
  Vector vector_field(const Table& table, int field, std::size_t element_width, std::size_t limit);
  std::string_view string_field(const Table& table, int field, std::size_t limit);
  Table table_at(const Vector& vector, std::size_t index);  // element of a vector of tables
  std::span<const std::uint8_t> span_of(const Vector& vector, std::size_t element_width) const;

 private:
  bool inside(std::size_t position, std::size_t length);
  std::size_t field_position(const Table& table, int field, std::size_t width);
  std::size_t follow(std::size_t position);  // a forward offset; 0 after a fault
  Table table_from(std::size_t position);

  std::span<const std::uint8_t> bytes_;
  std::string message_;
  std::size_t fault_position_ = 0;
  ErrorCode fault_code_ = ErrorCode::Invalid;
};

}  // namespace lintel::pose
