// Any bytes as kept points: the same points after another turn, or one error with its place.
#include <string_view>

#include "formats/observation_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel;
  const auto kept = formats::read_observation_json(text_of(data, size), "fuzz.json");
  if (!kept) {
    require(!kept.error().message.empty() && kept.error().place.file == "fuzz.json");
    return 0;
  }
  const std::string written = formats::write_observation_json(*kept);
  const auto again = formats::read_observation_json(written, "again.json");
  require(again.has_value());
  require(formats::write_observation_json(*again) == written);
  return 0;
}
