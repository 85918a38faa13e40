#include "app/visit_material.h"

#include <algorithm>

#include "app/athlete_records.h"
#include "app/audit.h"
#include "app/text_file.h"
#include "formats/overrulings_json.h"
#include "formats/test_record_json.h"
#include "formats/trial_json.h"

namespace lintel::app {
namespace {

using store::Record;
using store::RecordKind;

constexpr std::uintmax_t kLargestAssessment = 16u << 20;  // [bytes], as the reader's own limit

Result<body::TestRecord> record_of(const Record& record, const Library& library) {
  auto reading = formats::read_test_record_json(record.document, "", library.protocols);
  if (!reading.record) return fail(joined_faults(reading.faults));
  return *std::move(reading.record);
}

// A record that does not fit today's athlete any more (a test that was taken out) adds nothing.
void add_results(const body::TestRecord& record, const Library& library, body::Athlete& athlete) {
  const auto outcome = body::evaluate_record(record, library.protocols, athlete);
  if (outcome) athlete = body::with_results(athlete, *outcome);
}

Result<void> read_decisions(store::Transaction& t, const Caller& caller, VisitMaterial& out) {
  const auto kept = LINTEL_TRY(
      newest_record(t, caller, RecordKind::Overrulings, out.visit.athlete, out.visit.id));
  if (!kept) return {};
  auto reading = formats::read_overrulings_json(kept->document, "");
  if (!reading.file) return fail(joined_faults(reading.faults));
  out.overrulings = std::move(reading.file->overrulings);
  return {};
}

struct MeasuredTrial {
  std::string id, sha256;
};

// The trial's assessment, where it is a measured view from the side.
std::optional<MeasuredTrial> measured(const Record& record) {
  const auto reading = formats::read_trial_json(record.document, "");
  if (!reading.trial || reading.trial->edit.view != "side") return {};
  const formats::StoredFile* file = reading.trial->result("assessment.json");
  if (file == nullptr) return {};
  return MeasuredTrial{record.id, file->sha256};
}

Result<std::optional<MeasuredTrial>> find_clip(store::Transaction& t, const Caller& caller,
                                               const Record& visit, std::string_view trial) {
  const auto trials =
      LINTEL_TRY(every_record(t, caller, RecordKind::Trial, visit.athlete, visit.id));
  for (const Record& record : trials) {  // the newest first
    if (!trial.empty() && record.id != trial) continue;
    if (const auto found = measured(record)) return found;
  }
  if (trial.empty()) return std::optional<MeasuredTrial>();
  return fail(ErrorCode::NotFound, "this visit has no such clip that was measured from the side",
              "wait until it is measured, or leave the clip out");
}

Result<VisitMaterial> read_records(store::Transaction& t, const Caller& caller,
                                   Permission permission, std::string_view visit,
                                   std::string_view trial) {
  VisitMaterial out;
  out.visit = LINTEL_TRY(find_for(t, caller, permission, visit, RecordKind::Visit));
  out.athlete_record = LINTEL_TRY(store::find_record(t, caller.organization, out.visit.athlete));
  out.intake = LINTEL_TRY(intake_of(out.athlete_record));
  auto document = formats::read_visit_json(out.visit.document, "");
  if (!document.visit) return fail(joined_faults(document.faults));
  out.document = *std::move(document.visit);
  out.library = LINTEL_TRY(library_of(t, caller.organization));
  out.before =
      LINTEL_TRY(with_tests_of_visits(t, caller, *out.library, out.intake, out.visit.athlete,
                                      out.document.date.iso(), out.visit.id));
  out.tested = out.before;
  out.tests =
      LINTEL_TRY(newest_record(t, caller, RecordKind::TestRecord, out.visit.athlete, out.visit.id));
  if (out.tests) {
    out.record = LINTEL_TRY(record_of(*out.tests, *out.library));
    add_results(*out.record, *out.library, out.tested);
  }
  LINTEL_TRY_VOID(read_decisions(t, caller, out));
  if (const auto clip = LINTEL_TRY(find_clip(t, caller, out.visit, trial))) {
    out.trial = clip->id;
    out.assessment_sha256 = clip->sha256;
  }
  return out;
}

}  // namespace

Result<body::Athlete> with_tests_of_visits(store::Transaction& t, const Caller& caller,
                                           const Library& library, const formats::Intake& intake,
                                           const std::string& athlete, const std::string& last,
                                           std::string_view but) {
  const auto kept = LINTEL_TRY(every_record(t, caller, RecordKind::TestRecord, athlete, {}));
  std::vector<body::TestRecord> records;
  for (const Record& record : kept) {
    if (record.parent == but) continue;
    records.push_back(LINTEL_TRY(record_of(record, library)));
  }
  std::stable_sort(
      records.begin(), records.end(),
      [](const body::TestRecord& a, const body::TestRecord& b) { return a.date < b.date; });
  body::Athlete out = intake.athlete;
  for (const body::TestRecord& record : records) {
    if (last.empty() || record.date.iso() <= last) add_results(record, library, out);
  }
  return out;
}

Result<VisitMaterial> gather_visit(Practice& practice, const Caller& caller, Permission permission,
                                   std::string_view visit, std::string_view trial) {
  const auto body = [&](store::Transaction& t) {
    return read_records(t, caller, permission, visit, trial);
  };
  VisitMaterial out = LINTEL_TRY(store::read_value<VisitMaterial>(*practice.database, body));
  LINTEL_TRY_VOID(
      note_seen(practice, caller, {"record_seen", out.visit.id, out.visit.athlete, {}}));
  if (out.trial.empty()) {
    if (const auto& trunk = out.document.trunk) {
      out.seen.observation.trunk_inclination = Estimate{trunk->inclination, trunk->standard_error};
    }
    return out;
  }
  out.assessment = LINTEL_TRY(practice.media->find(out.assessment_sha256));
  const std::string text =
      LINTEL_TRY(read_text_file(out.assessment, kLargestAssessment, "measure the clip again"));
  out.seen = LINTEL_TRY(seen_in_assessment(text, "assessment.json"));
  return out;
}

}  // namespace lintel::app
