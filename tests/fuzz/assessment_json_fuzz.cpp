// Any bytes as an assessment: repetitions with errors that are not negative, or one error with its
// place.
#include <string_view>

#include "formats/assessment_reader.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto stored = lintel::formats::read_assessment_json(text, "fuzz.json");
  if (!stored) {
    require(!stored.error().message.empty() && stored.error().place.file == "fuzz.json");
    return 0;
  }
  if (!stored->side) return 0;
  for (const auto& repetition : stored->side->repetitions) {
    for (const auto& channel : repetition.channels) require(!(channel.bottom.standard_error < 0));
    require(repetition.bottom_frame < stored->side->frame_index.size());
  }
  return 0;
}
