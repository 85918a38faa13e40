// Any bytes as a record of mobility tests: one that can be written, read and evaluated, or faults.
#include <string_view>

#include "formats/protocol_json.h"
#include "formats/test_record_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel;
  const std::string_view text = text_of(data, size);
  const auto& protocols = formats::built_in_protocols();
  const auto reading = formats::read_test_record_json(text, "fuzz.json", protocols);
  require(reading.record.has_value() == reading.faults.empty());
  if (!reading.record) return 0;
  const auto again = formats::read_test_record_json(
      formats::write_test_record_json(*reading.record, protocols), "again.json", protocols);
  require(again.record.has_value());
  body::Athlete athlete;
  athlete.id = reading.record->athlete_id;
  athlete.stature = 1.7;
  athlete.body_mass = 70;
  const auto outcome = body::evaluate_record(*reading.record, protocols, athlete);
  if (outcome) require(!formats::write_test_outcome_json(*reading.record, *outcome).empty());
  return 0;
}
