// Any bytes as a plan file: a plan that keeps its rules and can be written and read again, or
// faults.
#include <string_view>

#include "formats/plan_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text = text_of(data, size);
  const auto reading = lintel::formats::read_plan_json(text, "fuzz.json");
  require(reading.plan.has_value() == reading.faults.empty());
  if (reading.plan) {
    require(lintel::plan::find_faults(*reading.plan).empty());
    for (const auto& drill : reading.plan->drills) {
      require(!drill.loaded || reading.plan->warning_signs.empty());
    }
    const auto again = lintel::formats::read_plan_json(
        lintel::formats::write_plan_json(*reading.plan), "again.json");
    require(again.plan.has_value());
  }
  return 0;
}
