// Any bytes as what programs send to routes: a visit, a day of the log, the wish for a plan, edits
// of one, a question to the model. Each is read whole or has faults; what is read can be written.
#include <string>

#include "formats/drill_json.h"
#include "formats/history_json.h"
#include "formats/json_defaults.h"
#include "formats/plan_record_json.h"
#include "formats/question_json.h"
#include "formats/visit_json.h"
#include "fuzz_input.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lintel;
  const std::string_view bytes = text_of(data, size);
  const auto visit = formats::read_visit_json(
      formats::with_defaults(bytes, "", {{"schema", "\"lintel-visit-1\""}}), "");
  require(visit.visit.has_value() == visit.faults.empty());
  if (visit.visit) {
    require(
        formats::read_visit_json(formats::write_visit_json(*visit.visit), "").visit.has_value());
  }
  const auto& drills = formats::built_in_drills();
  const auto log = formats::read_day_log_json(
      formats::with_defaults(bytes, "", {{"schema", "\"lintel-log-1\""}}), "", drills);
  require(log.log.has_value() == log.faults.empty());
  if (log.log) {
    const std::string written = formats::write_day_log_json(*log.log);
    require(formats::read_day_log_json(written, "", drills).log.has_value());
  }
  const auto wish = formats::read_plan_wish_json(bytes);
  require(wish.wish.has_value() == wish.faults.empty());
  const auto update = formats::read_plan_update_json(bytes);
  require(update.update.has_value() == update.faults.empty());
  const auto question = formats::read_question_json(bytes, formats::ChangesInQuestion::Expected);
  require(question.question.has_value() == question.faults.empty());
  (void)formats::read_plan_record_json(bytes);
  (void)formats::with_defaults(bytes, "overrulings[]", {{"who", "\"x\""}});
  return 0;
}
