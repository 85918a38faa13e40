// CSV as RFC 4180 describes it: fields, quotes, and the place of each cell.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::formats {

struct CsvCell {
  std::string text;
  std::int64_t line = 0;    // 1-based
  std::int64_t column = 0;  // 1-based, in bytes
};

struct CsvLimits {
  std::size_t bytes = std::size_t{64} << 20;
  std::size_t rows = 200'000;
  std::size_t columns = 400;
};

// Reads row by row, so that a large file is never held twice.
class CsvReader {
 public:
  // Errors: Limit. A byte order mark at the front is passed over. `text` must outlive the reader.
  static Result<CsvReader> create(std::string_view text, const CsvLimits& limits);

  bool at_end() const { return at_ >= text_.size(); }
  std::int64_t line() const { return line_; }
  // The next row's cells. Errors: Invalid (quotes) and Limit (columns, rows) with line and column.
  Result<void> next(std::vector<CsvCell>& cells);

 private:
  CsvReader(std::string_view text, const CsvLimits& limits) : text_(text), limits_(limits) {}
  Result<void> quoted_cell(CsvCell& cell);
  void take();
  tl::unexpected<Error> fault(ErrorCode code, std::string message) const;

  std::string_view text_;
  CsvLimits limits_;
  std::size_t at_ = 0;
  std::int64_t line_ = 1;
  std::int64_t column_ = 1;
  std::size_t rows_ = 0;
};

// A cell for writing: quoted where it must be.
std::string csv_cell(std::string_view text);

// Shortest decimal text of at most `digits` significant digits; empty for NaN and infinities.
std::string csv_number(double value, int digits);

// The whole text as a finite number. Independent of the locale.
bool parse_number(std::string_view text, double& value);

}  // namespace lintel::formats
