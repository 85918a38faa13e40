// Any bytes as a file of marker sets: sets with their names, or faults.
#include <string_view>

#include "formats/marker_sets.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto reading = lintel::formats::read_marker_sets_json(text, "fuzz.json");
  require(reading.sets.empty() != reading.faults.empty());
  for (const auto& set : reading.sets) {
    require(!set.id.empty() && !set.source.empty());
    const lintel::formats::C3dMotion nothing;
    require(!lintel::formats::landmarks_of(nothing, set).has_value());
  }
  return 0;
}
