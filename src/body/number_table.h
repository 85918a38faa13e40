// Tables of numbers with a source each, as in data/*.csv.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::body {

// One CSV line in fields (RFC 4180 quotes; no line break inside a field).
std::vector<std::string> split_csv_line(std::string_view line);

// One row. Lengths are metres and angles radians inside, whatever unit the file uses.
struct Number {
  std::string key;
  double value = 0.0;
  double standard_deviation = 0.0;
  double low = 0.0;  // allowed range, where the table is one of ranges
  double high = 0.0;
  std::string unit;  // as written: "deg", "mm", "cm", "m", "kg", "%", "1"
  std::string source;
};

// Rows sorted by key. Reading fails at a row without a source, with an unknown unit, a text where a
// number belongs, or a key that occurs twice.
class NumberTable {
 public:
  // csv: lines "key,value,standard_deviation,low,high,unit,source", RFC 4180 quotes; lines that
  // begin with '#' are remarks. name: for error places.
  static Result<NumberTable> create(std::string_view csv, std::string_view name);

  const Number* find(std::string_view key) const;        // nullptr if absent
  const Number& operator[](std::string_view key) const;  // the key must exist (a bug otherwise)
  double value(std::string_view key) const { return (*this)[key].value; }
  const std::vector<Number>& rows() const { return rows_; }

 private:
  std::vector<Number> rows_;
};

}  // namespace lintel::body
