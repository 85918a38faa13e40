#include "body/tables.h"

namespace lintel::embedded {
extern const std::string_view segment_lengths_csv;
extern const std::string_view body_segments_csv;
extern const std::string_view mobility_ranges_csv;
extern const std::string_view mobility_limits_csv;
extern const std::string_view mobility_tests_csv;
}  // namespace lintel::embedded

namespace lintel::body {
namespace {

NumberTable read_embedded(std::string_view csv, std::string_view name) {
  auto table = NumberTable::create(csv, name);
  LINTEL_CHECK(table.has_value());
  return std::move(table).value();
}

}  // namespace

const NumberTable& segment_length_table() {
  static const NumberTable kTable =
      read_embedded(embedded::segment_lengths_csv, "data/anthropometry/segment-lengths.csv");
  return kTable;
}

const NumberTable& body_segment_table() {
  static const NumberTable kTable =
      read_embedded(embedded::body_segments_csv, "data/anthropometry/body-segments.csv");
  return kTable;
}

const NumberTable& range_table() {
  static const NumberTable kTable =
      read_embedded(embedded::mobility_ranges_csv, "data/mobility/ranges.csv");
  return kTable;
}

const NumberTable& limit_table() {
  static const NumberTable kTable =
      read_embedded(embedded::mobility_limits_csv, "data/mobility/limits.csv");
  return kTable;
}

const NumberTable& test_table() {
  static const NumberTable kTable =
      read_embedded(embedded::mobility_tests_csv, "data/mobility/tests.csv");
  return kTable;
}

}  // namespace lintel::body
