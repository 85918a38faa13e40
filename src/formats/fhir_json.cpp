#include "formats/fhir_json.h"

#include "base/cautions.h"
#include "formats/fhir_parts.h"
#include "secure/uuid.h"

namespace lintel::formats {
namespace {

using fhir::Bundle;

void add_patient(Bundle& bundle) {
  const body::Athlete& athlete = *bundle.visit().athlete;
  const std::string system =
      "urn:uuid:" + secure::to_string(secure::named_uuid(secure::kLintelNamespace, "athlete ids"));
  Json content = {{"identifier", Json::array({{{"system", system}, {"value", athlete.id}}})}};
  if (!athlete.name.empty()) content["name"] = Json::array({{{"text", athlete.name}}});
  content["gender"] = athlete.sex == body::Sex::Female ? "female" : "male";
  bundle.set_patient(bundle.add("Patient", "", content));
  const std::string day = bundle.visit().date.iso();
  bundle.set_encounter(bundle.add("Encounter", "",
                                  {{"status", "finished"},
                                   {"class",
                                    {{"system", "http://terminology.hl7.org/CodeSystem/v3-ActCode"},
                                     {"code", "AMB"},
                                     {"display", "ambulatory"}}},
                                   {"subject", bundle.patient()},
                                   {"period", {{"start", day}, {"end", day}}}}));
}

void add_report(Bundle& bundle) {
  if (bundle.observations().empty()) return;
  std::string conclusion;
  if (bundle.visit().tests != nullptr) {
    for (const std::string& remark : bundle.visit().tests->remarks) conclusion += remark + "\n";
  }
  if (bundle.visit().plan != nullptr && !bundle.visit().plan->referral.empty()) {
    conclusion += bundle.visit().plan->referral + "\n";
  }
  conclusion += cautions_text();
  bundle.add("DiagnosticReport", "",
             {{"status", "final"},
              {"code", fhir::concept_named("mobility_visit")},
              {"subject", bundle.patient()},
              {"encounter", bundle.encounter()},
              {"effectiveDateTime", bundle.visit().date.iso()},
              {"result", bundle.observations()},
              {"conclusion", conclusion}});
}

}  // namespace

std::string write_fhir_bundle(const FhirVisit& visit) {
  LINTEL_CHECK(visit.athlete != nullptr);
  Bundle bundle(visit);
  add_patient(bundle);
  fhir::add_athlete_observations(bundle);
  fhir::add_test_observations(bundle);
  fhir::add_squat_observations(bundle);
  fhir::add_typed_trunk(bundle);
  fhir::add_plan(bundle);
  add_report(bundle);
  return std::move(bundle).text();
}

}  // namespace lintel::formats
