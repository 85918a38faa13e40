#include "app/visit_question.h"

#include "app/visit_material.h"
#include "formats/json_defaults.h"
#include "formats/question_json.h"
#include "formats/record_json.h"

namespace lintel::app {

Result<std::string> question_of_visit(Practice& practice, const Caller& caller,
                                      std::string_view visit, std::string_view trial) {
  const VisitMaterial material =
      LINTEL_TRY(gather_visit(practice, caller, Permission::ReadRecords, visit, trial));
  formats::Question question;
  question.athlete = material.tested;
  const auto& trunk = material.seen.observation.trunk_inclination;
  if (trunk) {
    question.observed = trunk->value;
    question.observed_error = trunk->standard_error;
  }
  const bool filmed = !material.trial.empty();
  const char* seen = !trunk ? "null" : filmed ? "\"clip\"" : "\"typed\"";
  return formats::with_members(
      "{}", {{"question", formats::write_question_json(question)},
             {"seen", seen},
             {"trial", filmed ? formats::json_text_of(material.trial) : "null"}});
}

}  // namespace lintel::app
