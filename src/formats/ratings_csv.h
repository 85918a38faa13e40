// A table of ratings as a person keeps it: a header, then a subject in each row, a rater, a day or
// a try in each column.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::formats {

struct RatingsTable {
  std::vector<std::string> columns;       // headings of the ratings
  std::vector<std::string> subjects;      // empty where the file names none
  std::vector<std::vector<double>> rows;  // all of the length of `columns`
};

// The first column names the subjects if its heading is subject, athlete, person, name or id, or if
// it holds anything but numbers. Rows without any text are passed over. Errors, with line and
// column: Invalid for no header, a row of another length, a cell that is empty or not a number;
// Limit (1 MiB, 10,000 rows, 60 columns).
Result<RatingsTable> read_ratings_csv(std::string_view text, std::string_view file_name);

}  // namespace lintel::formats
