#include "body/number_table.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "base/units.h"

namespace lintel::body {
namespace {

constexpr std::size_t kColumns = 7;

std::optional<double> factor_to_si(std::string_view unit) {
  if (unit == "1" || unit == "m" || unit == "kg") return 1.0;
  if (unit == "deg") return kRadiansPerDegree;
  if (unit == "cm" || unit == "%") return 0.01;
  if (unit == "mm") return 0.001;
  return std::nullopt;
}

Error row_error(std::string_view name, std::int64_t line, std::string_view key,
                std::string message) {
  Error error{ErrorCode::Invalid, std::move(message), {}, "mend the row of the table", {}};
  error.place.file = name;
  error.place.line = line;
  error.place.field = key;
  return error;
}

Result<Number> read_row(const std::vector<std::string>& fields, std::string_view name,
                        std::int64_t line) {
  if (fields.size() != kColumns) {
    return fail(row_error(name, line, fields[0], "a row needs 7 columns"));
  }
  Number number;
  number.key = fields[0];
  number.unit = fields[5];
  number.source = fields[6];
  if (number.key.empty()) return fail(row_error(name, line, "", "a row without a key"));
  if (number.source.find_first_not_of(" \t") == std::string::npos) {
    return fail(row_error(name, line, number.key, "a number without a source"));
  }
  const auto factor = factor_to_si(number.unit);
  if (!factor) {
    return fail(row_error(name, line, number.key, "unknown unit '" + number.unit + "'"));
  }
  const std::array<double*, 4> targets = {&number.value, &number.standard_deviation, &number.low,
                                          &number.high};
  for (std::size_t i = 0; i < targets.size(); ++i) {
    const std::string& text = fields[i + 1];
    if (text.empty()) continue;
    double value = 0.0;
    const auto [end, status] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (status != std::errc() || end != text.data() + text.size() || !std::isfinite(value)) {
      return fail(row_error(name, line, number.key, "'" + text + "' is not a number"));
    }
    *targets[i] = value * *factor;
  }
  return number;
}

}  // namespace

std::vector<std::string> split_csv_line(std::string_view line) {
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const char c = line[i];
    if (quoted) {
      if (c == '"' && i + 1 < line.size() && line[i + 1] == '"') {
        fields.back() += '"';
        ++i;
      } else if (c == '"') {
        quoted = false;
      } else {
        fields.back() += c;
      }
    } else if (c == '"') {
      quoted = true;
    } else if (c == ',') {
      fields.emplace_back();
    } else {
      fields.back() += c;
    }
  }
  return fields;
}

Result<NumberTable> NumberTable::create(std::string_view csv, std::string_view name) {
  NumberTable table;
  std::int64_t line_number = 0;
  bool header_seen = false;
  while (!csv.empty()) {
    const std::size_t end = csv.find('\n');
    std::string_view line = csv.substr(0, end);
    csv.remove_prefix(end == std::string_view::npos ? csv.size() : end + 1);
    ++line_number;
    if (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    if (line.empty() || line.front() == '#') continue;
    if (!header_seen) {
      header_seen = true;
      if (line != "key,value,standard_deviation,low,high,unit,source") {
        return fail(row_error(name, line_number, "", "the header line is not the expected one"));
      }
      continue;
    }
    table.rows_.push_back(LINTEL_TRY(read_row(split_csv_line(line), name, line_number)));
  }
  std::sort(table.rows_.begin(), table.rows_.end(),
            [](const Number& a, const Number& b) { return a.key < b.key; });
  const auto twice =
      std::adjacent_find(table.rows_.begin(), table.rows_.end(),
                         [](const Number& a, const Number& b) { return a.key == b.key; });
  if (twice != table.rows_.end()) {
    return fail(row_error(name, 0, twice->key, "the key occurs twice"));
  }
  return table;
}

const Number* NumberTable::find(std::string_view key) const {
  const auto it = std::lower_bound(rows_.begin(), rows_.end(), key,
                                   [](const Number& a, std::string_view k) { return a.key < k; });
  return it != rows_.end() && it->key == key ? &*it : nullptr;
}

const Number& NumberTable::operator[](std::string_view key) const {
  const Number* number = find(key);
  LINTEL_CHECK(number != nullptr);
  return *number;
}

}  // namespace lintel::body
