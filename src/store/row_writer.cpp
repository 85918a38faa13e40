#include "store/row_writer.h"

#include <algorithm>

namespace lintel::store {
namespace {

constexpr std::size_t kMostCells = 600;  // of one statement; far below what the engines take

std::string insert_text(std::string_view table, std::string_view columns,
                        const std::vector<std::vector<Cell>>& rows, std::size_t first,
                        std::size_t end) {
  std::string text =
      "INSERT INTO " + std::string(table) + " (" + std::string(columns) + ") VALUES ";
  int number = 0;
  for (std::size_t row = first; row < end; ++row) {
    text += row == first ? "(" : ", (";
    for (std::size_t i = 0; i < rows[row].size(); ++i) {
      if (i > 0) text += ", ";
      const bool null = std::holds_alternative<std::monostate>(rows[row][i]);
      text += null ? "NULL" : ":p" + std::to_string(number++);
    }
    text += ")";
  }
  return text;
}

void bind_cell(soci::details::prepare_temp_type& prepared, const Cell& cell) {
  if (const auto* text = std::get_if<std::string>(&cell)) prepared, soci::use(*text);
  if (const auto* whole = std::get_if<std::int64_t>(&cell)) prepared, soci::use(*whole);
  if (const auto* real = std::get_if<double>(&cell)) prepared, soci::use(*real);
}

}  // namespace

Result<void> insert_rows(Transaction& t, std::string_view doing, std::string_view table,
                         std::string_view columns, const std::vector<std::vector<Cell>>& rows,
                         std::string_view ending) {
  if (rows.empty()) return {};
  const std::size_t at_once = std::max<std::size_t>(1, kMostCells / rows.front().size());
  for (std::size_t first = 0; first < rows.size(); first += at_once) {
    const std::size_t end = std::min(rows.size(), first + at_once);
    LINTEL_TRY_VOID(run_sql(t, doing, [&](soci::session& sql) {
      soci::details::prepare_temp_type prepared(sql);
      prepared << insert_text(table, columns, rows, first, end) << " " << ending;
      for (std::size_t row = first; row < end; ++row) {
        for (const Cell& cell : rows[row]) bind_cell(prepared, cell);
      }
      soci::statement statement(prepared);
      statement.execute(true);
    }));
  }
  return {};
}

}  // namespace lintel::store
