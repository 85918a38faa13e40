// Any bytes as a trial, as the body of a new one and of an edit: what can be written and read
// again, or faults with places.
#include <string_view>

#include "formats/trial_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel;
  const std::string_view text = text_of(data, size);
  const auto reading = formats::read_trial_json(text, "fuzz.json");
  require(reading.trial.has_value() == reading.faults.empty());
  if (reading.trial) {
    const std::string written = formats::write_trial_json(*reading.trial);
    const auto again = formats::read_trial_json(written, "again.json");
    require(again.trial.has_value());
    require(formats::same_measurement(again.trial->edit, reading.trial->edit));
    require(formats::write_trial_json(*again.trial) == written);
  }
  const auto edit = formats::read_trial_edit_json(text);
  require(edit.edit.has_value() == edit.faults.empty());
  const auto body = formats::read_new_trial_json(text);
  require(body.body.has_value() == body.faults.empty());
  (void)formats::athlete_of_intake(text, text);
  (void)formats::date_of_visit(text);
  return 0;
}
