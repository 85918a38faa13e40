#include "formats/ratings_csv.h"

#include <algorithm>
#include <array>
#include <cctype>

#include "base/text.h"
#include "formats/csv.h"

namespace lintel::formats {
namespace {

constexpr CsvLimits kLimits{std::size_t{1} << 20, 10'000, 60};

using Row = std::vector<CsvCell>;

std::string_view trimmed(std::string_view text) {
  const auto first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

bool is_blank(const Row& row) {
  return std::all_of(row.begin(), row.end(),
                     [](const CsvCell& cell) { return trimmed(cell.text).empty(); });
}

bool is_subject_heading(std::string_view heading) {
  std::string lower(trimmed(heading));
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  constexpr std::array<std::string_view, 5> kHeadings = {"subject", "athlete", "person", "name",
                                                         "id"};
  return std::find(kHeadings.begin(), kHeadings.end(), lower) != kHeadings.end();
}

tl::unexpected<Error> cell_fault(const CsvCell& cell, std::string field, std::string message,
                                 std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.line = cell.line;
  error.place.column = cell.column;
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<double> number_of(const CsvCell& cell, const std::string& heading) {
  const std::string_view text = trimmed(cell.text);
  if (text.empty()) {
    return cell_fault(cell, heading, "the rating is missing",
                      "every subject needs a rating in every column; leave out the subject");
  }
  double value = 0.0;
  if (parse_number(text, value)) return value;
  return cell_fault(cell, heading, "\"" + std::string(text) + "\" is not a number",
                    text.find(',') == std::string_view::npos ? "write a number like 36.8"
                                                             : "write a point, not a comma");
}

bool names_subjects(const Row& header, const std::vector<Row>& rows) {
  if (is_subject_heading(header.front().text)) return true;
  return std::any_of(rows.begin(), rows.end(), [](const Row& row) {
    double value = 0.0;
    const std::string_view text = trimmed(row.front().text);
    return !text.empty() && !parse_number(text, value);
  });
}

Result<RatingsTable> table_of(const Row& header, const std::vector<Row>& rows) {
  RatingsTable table;
  const std::size_t first = names_subjects(header, rows) ? 1 : 0;
  for (std::size_t i = first; i < header.size(); ++i) {
    table.columns.emplace_back(trimmed(header[i].text));
  }
  for (const Row& row : rows) {
    if (row.size() != header.size()) {
      return cell_fault(
          row.front(), "",
          text("the row has %zu cells, the header has %zu", row.size(), header.size()),
          "give every row as many cells as the header");
    }
    table.subjects.emplace_back(first == 1 ? trimmed(row.front().text) : std::string_view());
    std::vector<double>& values = table.rows.emplace_back();
    for (std::size_t i = first; i < row.size(); ++i) {
      values.push_back(LINTEL_TRY(number_of(row[i], table.columns[i - first])));
    }
  }
  return table;
}

Result<RatingsTable> read_table(std::string_view text) {
  CsvReader reader = LINTEL_TRY(CsvReader::create(text, kLimits));
  Row header;
  std::vector<Row> rows;
  while (!reader.at_end()) {
    Row row;
    LINTEL_TRY_VOID(reader.next(row));
    if (is_blank(row)) continue;
    if (header.empty()) {
      header = std::move(row);
    } else {
      rows.push_back(std::move(row));
    }
  }
  if (header.empty()) {
    return fail(ErrorCode::Invalid, "the file is empty",
                "write a header, then one subject in each row");
  }
  return table_of(header, rows);
}

}  // namespace

Result<RatingsTable> read_ratings_csv(std::string_view text, std::string_view file_name) {
  auto table = read_table(text);
  if (!table) return fail(table.error().with_file(file_name));
  return table;
}

}  // namespace lintel::formats
