// Any bytes as athlete.json: an athlete that can be written and read again, or faults with places.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "formats/athlete_json.h"

namespace {
void require(bool condition) {
  if (!condition) std::abort();
}
}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto reading = lintel::formats::read_athlete_json(text, "fuzz.json");
  require(reading.athlete.has_value() == reading.faults.empty());
  if (reading.athlete) {
    const auto again = lintel::formats::read_athlete_json(
        lintel::formats::write_athlete_json(*reading.athlete), "again.json");
    require(again.athlete.has_value());
  }
  return 0;
}
