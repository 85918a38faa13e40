#include "formats/csv.h"

#include <charconv>
#include <cmath>

namespace lintel::formats {

Result<CsvReader> CsvReader::create(std::string_view text, const CsvLimits& limits) {
  if (text.size() > limits.bytes) {
    return fail(ErrorCode::Limit, "the file has " + std::to_string(text.size()) +
                                      " bytes; allowed are " + std::to_string(limits.bytes));
  }
  if (text.substr(0, 3) == "\xEF\xBB\xBF") text.remove_prefix(3);
  return CsvReader(text, limits);
}

tl::unexpected<Error> CsvReader::fault(ErrorCode code, std::string message) const {
  Error error{code, std::move(message), {}, {}, {}};
  error.place.line = line_;
  error.place.column = column_;
  return fail(std::move(error));
}

void CsvReader::take() {
  if (text_[at_] == '\n') {
    ++line_;
    column_ = 1;
  } else {
    ++column_;
  }
  ++at_;
}

Result<void> CsvReader::quoted_cell(CsvCell& cell) {
  take();  // the opening quotation mark
  while (at_ < text_.size()) {
    if (text_[at_] == '"') {
      take();
      if (at_ >= text_.size() || text_[at_] != '"') return {};
    }
    cell.text += text_[at_];
    take();
  }
  Error error{ErrorCode::Invalid, "the quotation mark is never closed", {}, {}, {}};
  error.place.line = cell.line;
  error.place.column = cell.column;
  return fail(std::move(error));
}

Result<void> CsvReader::next(std::vector<CsvCell>& cells) {
  cells.clear();
  if (++rows_ > limits_.rows) {
    return fault(ErrorCode::Limit, "more than " + std::to_string(limits_.rows) + " rows");
  }
  while (true) {
    if (cells.size() == limits_.columns) {
      return fault(ErrorCode::Limit, "more than " + std::to_string(limits_.columns) + " columns");
    }
    CsvCell& cell = cells.emplace_back();
    cell.line = line_;
    cell.column = column_;
    if (at_ < text_.size() && text_[at_] == '"') {
      LINTEL_TRY_VOID(quoted_cell(cell));
    } else {
      while (at_ < text_.size() && text_[at_] != ',' && text_[at_] != '\n' && text_[at_] != '\r') {
        if (text_[at_] == '"') {
          return fault(ErrorCode::Invalid, "a quotation mark inside of an unquoted cell");
        }
        cell.text += text_[at_];
        take();
      }
    }
    if (at_ >= text_.size()) return {};
    const char end = text_[at_];
    take();
    if (end == ',') continue;
    if (end == '\r' && at_ < text_.size() && text_[at_] == '\n') {
      take();
      return {};
    }
    if (end == '\n') return {};
    return fault(ErrorCode::Invalid, end == '\r' ? "a carriage return without a line feed"
                                                 : "text after a closing quotation mark");
  }
}

std::string csv_cell(std::string_view text) {
  if (text.find_first_of(",\"\r\n") == std::string_view::npos) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + '"';
}

std::string csv_number(double value, int digits) {
  if (!std::isfinite(value)) return {};
  char buffer[64];
  const auto written =
      std::to_chars(buffer, buffer + sizeof buffer, value, std::chars_format::general, digits);
  const std::string text(buffer, written.ptr);
  return text == "-0" ? "0" : text;
}

bool parse_number(std::string_view text, double& value) {
  const char* end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  return read.ec == std::errc() && read.ptr == end && std::isfinite(value);
}

}  // namespace lintel::formats
