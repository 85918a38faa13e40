// Any bytes as a table of ratings: a table whose rows are all as long as its header and whose
// numbers are finite, or a fault.
#include <cmath>
#include <string_view>

#include "formats/ratings_csv.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto table = lintel::formats::read_ratings_csv(text, "fuzz.csv");
  if (!table) return 0;
  for (const auto& row : table->rows) {
    if (row.size() != table->columns.size()) std::abort();
    for (const double value : row) {
      if (!std::isfinite(value)) std::abort();
    }
  }
  return 0;
}
