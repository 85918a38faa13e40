// Any bytes as history.json: a history that can be written and read again, or faults with places.
#include <string_view>

#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/protocol_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace formats = lintel::formats;
  const std::string_view text = text_of(data, size);
  const auto& protocols = formats::built_in_protocols();
  const auto& drills = formats::built_in_drills();
  const auto reading = formats::read_history_json(text, "fuzz.json", protocols, drills);
  require(reading.history.has_value() == reading.faults.empty());
  if (reading.history) {
    const auto again = formats::read_history_json(
        formats::write_history_json(*reading.history, protocols), "again.json", protocols, drills);
    require(again.history.has_value());
  }
  return 0;
}
