// Any bytes as an intake: one that can be written and read again, or faults with places. Members
// that may be left out are put in first, as the server does.
#include <string>

#include "formats/intake_json.h"
#include "formats/json_defaults.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel;
  std::string text =
      formats::with_defaults(text_of(data, size), "", {{"schema", "\"lintel-intake-1\""}});
  text = formats::with_defaults(text, "athlete",
                                {{"schema", "\"lintel-athlete-1\""}, {"id", "\"a\""}});
  const auto reading = formats::read_intake_json(text, "fuzz.json");
  require(reading.intake.has_value() == reading.faults.empty());
  for (const Error& fault : reading.faults) require(fault.place.file == "fuzz.json");
  if (!reading.intake) return 0;
  const std::string written = formats::write_intake_json(*reading.intake);
  const auto again = formats::read_intake_json(written, "again.json");
  require(again.intake.has_value());
  return 0;
}
