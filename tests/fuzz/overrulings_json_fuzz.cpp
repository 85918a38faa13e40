// Any bytes as a file of overrulings: words that can be written, read again and applied, or faults
// with places.
#include <string_view>

#include "formats/overrulings_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel;
  const std::string_view text = text_of(data, size);
  const auto reading = formats::read_overrulings_json(text, "fuzz.json");
  require(reading.file.has_value() == reading.faults.empty());
  for (const Error& fault : reading.faults) require(fault.place.file == "fuzz.json");
  if (!reading.file) return 0;
  const auto again =
      formats::read_overrulings_json(formats::write_overrulings_json(*reading.file), "again.json");
  require(again.file.has_value());
  require(again.file->overrulings.size() == reading.file->overrulings.size());
  reasoning::Findings findings;
  reasoning::Finding ankle;
  ankle.id = "ankle";
  ankle.kind = reasoning::FindingKind::Range;
  ankle.part = reasoning::Factor::Ankle;
  ankle.size = reasoning::Size{0.1, 0.05, 0.15};
  ankle.probability = 0.9;
  findings.all.push_back(ankle);
  reasoning::overrule(findings, reading.file->overrulings);
  require(findings.all.front().probability == 0.9);
  (void)reasoning::targets_from_findings(findings);
  return 0;
}
