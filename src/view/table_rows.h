// Rows of database tables as plain data, for the store that reads and fills tables and the writers
// of backups.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace lintel::view {

enum class ColumnType : std::uint8_t { Integer, Real, Text };

struct TableColumn {
  std::string name;
  ColumnType type = ColumnType::Text;

  bool operator==(const TableColumn&) const = default;
};

struct TableShape {
  std::string name;
  std::vector<TableColumn> columns;  // in the order of the table
  std::vector<std::size_t> key;      // columns of the primary key, in its order
};

// Nothing = NULL.
using TableCell = std::variant<std::monostate, std::int64_t, double, std::string>;
using TableRow = std::vector<TableCell>;

}  // namespace lintel::view
