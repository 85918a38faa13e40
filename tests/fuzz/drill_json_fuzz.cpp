// Any bytes as a drill file: a drill that can be written and read again, or faults with places.
#include <string_view>

#include "formats/drill_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto reading = lintel::formats::read_drill_json(text, "fuzz.json");
  require(reading.drill.has_value() == reading.faults.empty());
  if (reading.drill) {
    const auto again = lintel::formats::read_drill_json(
        lintel::formats::write_drill_json(*reading.drill), "again.json");
    require(again.drill.has_value());
  }
  return 0;
}
