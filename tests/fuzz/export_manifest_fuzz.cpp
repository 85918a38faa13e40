// Any bytes as the manifest of an export and as one of its documents: faults, or a manifest that
// comes back when it is written and read again.
#include "formats/export_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  namespace formats = lintel::formats;
  const std::string_view text = text_of(data, size);
  const auto digests = formats::digests_in_document(text, "v1.json");
  if (digests) {
    for (const std::string& digest : *digests) require(digest.size() == 64);
  }
  const auto reading = formats::read_export_manifest(text, "manifest.json");
  require(reading.manifest.has_value() == reading.faults.empty());
  if (!reading.manifest) return 0;
  require(!reading.manifest->records.empty());
  const auto again = formats::read_export_manifest(
      formats::write_export_manifest(*reading.manifest), "manifest.json");
  require(again.manifest && again.manifest->records.size() == reading.manifest->records.size());
  return 0;
}
