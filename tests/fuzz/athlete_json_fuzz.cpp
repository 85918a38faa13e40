// Any bytes as athlete.json: an athlete that can be written and read again, or faults with places.
#include <string_view>

#include "formats/athlete_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto reading = lintel::formats::read_athlete_json(text, "fuzz.json");
  require(reading.athlete.has_value() == reading.faults.empty());
  if (reading.athlete) {
    const auto again = lintel::formats::read_athlete_json(
        lintel::formats::write_athlete_json(*reading.athlete), "again.json");
    require(again.athlete.has_value());
  }
  return 0;
}
