// Any bytes as a protocol: one that can be written and read again, or faults with places.
#include <string_view>

#include "formats/protocol_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto reading = lintel::formats::read_protocol_json(text, "fuzz.json");
  require(reading.protocol.has_value() == reading.faults.empty());
  if (reading.protocol) {
    const auto again = lintel::formats::read_protocol_json(
        lintel::formats::write_protocol_json(*reading.protocol), "again.json");
    require(again.protocol.has_value());
  }
  return 0;
}
