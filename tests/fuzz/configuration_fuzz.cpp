// Any bytes as lintel.toml: settings within their ranges, or faults with a place.
#include "formats/configuration.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const auto reading = lintel::formats::read_configuration(text_of(data, size), "lintel.toml");
  require(reading.configuration.has_value() == reading.faults.empty());
  if (!reading.configuration) return 0;
  require(reading.configuration->upload_limit_bytes > 0);
  require(reading.configuration->backup.keep_daily > 0);
  require(reading.configuration->backup.folder.empty() ||
          !reading.configuration->backup.times_utc.empty());
  return 0;
}
