#include "app/athlete_records.h"
#include "app/exchange_use_case.h"
#include "app/plan_for_now.h"
#include "app/trend_records.h"
#include "app/version.h"
#include "app/visit_material.h"
#include "formats/fhir_json.h"
#include "formats/plan_record_json.h"

namespace lintel::app {
namespace {

using store::Record;
using store::RecordKind;

// The visit, or the athlete's newest one.
Result<std::string> visit_of(Practice& practice, const Caller& caller, std::string_view athlete,
                             const std::string& visit) {
  const auto body = [&](store::Transaction& t) -> Result<std::string> {
    const Record of =
        LINTEL_TRY(find_for(t, caller, Permission::TakeOut, athlete, RecordKind::Athlete));
    if (visit.empty()) {
      const auto newest = LINTEL_TRY(newest_record(t, caller, RecordKind::Visit, of.id, {}));
      if (newest) return newest->id;
      return fail(ErrorCode::NotFound, "this athlete has no visit yet", "make one first");
    }
    const Record found =
        LINTEL_TRY(find_for(t, caller, Permission::TakeOut, visit, RecordKind::Visit));
    if (found.athlete == of.id) return found.id;
    return fail(ErrorCode::NotFound, "this athlete has no such visit", "take one of the list");
  };
  return store::read_value<std::string>(*practice.database, body);
}

}  // namespace

Result<std::string> fhir_of_visit(Practice& practice, const Caller& caller,
                                  std::string_view athlete, const std::string& visit) {
  const std::string id = LINTEL_TRY(visit_of(practice, caller, athlete, visit));
  const VisitMaterial material =
      LINTEL_TRY(gather_visit(practice, caller, Permission::TakeOut, id));
  const auto body = [&](store::Transaction& t) {
    return newest_record(t, caller, RecordKind::Plan, material.visit.athlete, material.visit.id);
  };
  const auto kept = LINTEL_TRY(store::read_value<std::optional<Record>>(*practice.database, body));
  formats::FhirVisit input;
  input.athlete = &material.intake.athlete;
  input.date = material.document.date;
  std::optional<body::RecordOutcome> outcome;
  if (material.record) {
    outcome = LINTEL_TRY(body::evaluate_record(*material.record, material.library->protocols,
                                               material.intake.athlete));
    input.record = &*material.record;
    input.tests = &*outcome;
  }
  std::optional<formats::FhirSquat> squat;
  if (material.seen.stored) {
    squat = squat_of(*material.seen.stored);
    squat->date = day_of_assessment(*material.seen.stored).value_or(material.document.date);
    input.squat = &*squat;
  }
  if (const auto& trunk = material.document.trunk) {
    input.typed_trunk =
        formats::FhirTypedTrunk{{trunk->inclination, trunk->standard_error}, trunk->method};
  }
  std::optional<plan::Plan> plan;
  if (kept) {
    const auto document = LINTEL_TRY(formats::read_plan_record_json(kept->document));
    plan = plan_for_now(document.plan, material.intake.athlete.warning_signs);
    input.plan = &*plan;
  }
  input.program_version = version();
  return formats::write_fhir_bundle(input);
}

}  // namespace lintel::app
