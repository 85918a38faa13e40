#include "app/visit_records.h"

#include "app/athlete_records.h"
#include "app/audit.h"
#include "app/library.h"
#include "app/visit_material.h"
#include "formats/json_defaults.h"
#include "formats/overrulings_json.h"
#include "formats/test_record_json.h"
#include "formats/visit_json.h"

namespace lintel::app {
namespace {

using formats::json_text_of;
using store::Record;
using store::RecordKind;

store::IndexRows dated(const std::string& date) {
  store::IndexRows index;
  index.date = date;
  return index;
}

formats::RawMember cautions() {
  return {"cautions", formats::cautions_json_text()};
}

// Visit and athlete for a use case below the visit.
struct Around {
  SharedLibrary library;
  Record visit;
  std::string date;
  formats::Intake intake;
};
Result<Around> find_around(store::Transaction& t, const Caller& caller, Permission permission,
                           std::string_view visit) {
  Around out;
  out.library = LINTEL_TRY(library_of(t, caller.organization));
  out.visit = LINTEL_TRY(find_for(t, caller, permission, visit, RecordKind::Visit));
  const auto document = formats::read_visit_json(out.visit.document, "");
  if (document.visit) out.date = document.visit->date.iso();
  const Record athlete = LINTEL_TRY(store::find_record(t, caller.organization, out.visit.athlete));
  out.intake = LINTEL_TRY(intake_of(athlete));
  return out;
}

// The one document of a kind below a visit: replaced, or made when there is none yet.
Result<Record> put_below(store::Transaction& t, const Practice& practice, const Caller& caller,
                         RecordKind kind, const Record& visit, NewVersion next) {
  const auto before = LINTEL_TRY(newest_record(t, caller, kind, visit.athlete, visit.id));
  if (before) {
    if (next.expected != 0) {
      return change_record(t, practice, caller, *before, std::move(next));
    }
    Error error{ErrorCode::Conflict,
                "there is version " + std::to_string(before->version) + " already",
                {},
                "read it, and send the change with its version",
                {}};
    error.place.field = "version";
    return fail(std::move(error));
  }
  if (next.expected > 0) {
    return fail(ErrorCode::Conflict, "nothing is stored yet", "send the first one with version 0");
  }
  store::NewRecord record;
  record.kind = kind;
  record.organization = caller.organization;
  record.athlete = visit.athlete;
  record.parent = visit.id;
  record.document = std::move(next.document);
  record.index = std::move(next.index);
  return add_record(t, practice, caller, record);
}

store::IndexRows index_of(const body::TestRecord& record, const body::RecordOutcome& outcome) {
  store::IndexRows index = dated(record.date.iso());
  for (const body::TestOutcome& result : outcome.results) {
    if (result.entry->reached) continue;  // no number was read
    const double si = body::si_per_unit(result.protocol->unit);
    index.tests.push_back({result.protocol->id,
                           std::string(body::test_side_name(result.entry->side)), index.date,
                           std::string(body::protocol_unit_name(result.protocol->unit)),
                           result.result.value / si, result.result.standard_error / si});
  }
  return index;
}

std::string outcome_json(const std::string& document, const Library& library,
                         const body::Athlete& athlete) {
  const auto& protocols = library.protocols;
  const auto reading = formats::read_test_record_json(document, "", protocols);
  if (!reading.record) return "null";
  const auto outcome = body::evaluate_record(*reading.record, protocols, athlete);
  // The athlete was changed so that the record no longer fits: the numbers stay, nothing is said.
  if (!outcome) return "null";
  return formats::write_test_outcome_json(*reading.record, *outcome);
}

Result<void> show_below(Practice& practice, const Caller& caller, Permission permission,
                        std::string_view visit, RecordKind kind,
                        std::pair<std::optional<Record>, Around>& out) {
  using Pair = std::pair<std::optional<Record>, Around>;
  const auto body = [&](store::Transaction& t) -> Result<Pair> {
    Around around = LINTEL_TRY(find_around(t, caller, permission, visit));
    auto record = LINTEL_TRY(newest_record(t, caller, kind, around.visit.athlete, around.visit.id));
    return Pair{std::move(record), std::move(around)};
  };
  out = LINTEL_TRY(store::read_value<Pair>(*practice.database, body));
  const Record& seen = out.first ? *out.first : out.second.visit;
  LINTEL_TRY_VOID(note_seen(practice, caller, {"record_seen", seen.id, seen.athlete, {}}));
  return {};
}

}  // namespace

// ---- Visits

Result<Answer> create_visit(Practice& practice, const Caller& caller, std::string_view athlete,
                            std::string_view document, Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::EnterTests));
  store::NewRecord record;
  record.kind = RecordKind::Visit;
  record.organization = caller.organization;
  record.athlete = athlete;
  record.document = formats::with_defaults(
      document, "", {{"schema", "\"lintel-visit-1\""}, {"date", json_text_of(practice.today())}});
  auto reading = formats::read_visit_json(record.document, "");
  if (!reading.visit) return document_fault(std::move(reading.faults), faults);
  record.index = dated(reading.visit->date.iso());
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Record of = LINTEL_TRY(store::find_record(t, caller.organization, athlete));
    LINTEL_TRY_VOID(
        require_for(caller, Permission::EnterTests, of.organization, of.athlete, caller.person));
    return add_record(t, practice, caller, record);
  };
  return answer_of(LINTEL_TRY(store::write_value<Record>(*practice.database, body)));
}

Result<Answer> show_visit(Practice& practice, const Caller& caller, std::string_view visit) {
  return answer_of(
      LINTEL_TRY(see_record(practice, caller, Permission::ReadVisits, visit, RecordKind::Visit)));
}

Result<Answer> change_visit(Practice& practice, const Caller& caller, std::string_view visit,
                            const Change& change, Faults& faults) {
  NewVersion next;
  next.expected = change.expected_version;
  next.document = formats::with_defaults(change.document, "", {{"schema", "\"lintel-visit-1\""}});
  next.reason = change.reason;
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Record before =
        LINTEL_TRY(find_for(t, caller, Permission::EnterTests, visit, RecordKind::Visit));
    auto reading = formats::read_visit_json(next.document, "");
    if (!reading.visit) return document_fault(std::move(reading.faults), faults);
    NewVersion version = next;
    version.index = dated(reading.visit->date.iso());
    return change_record(t, practice, caller, before, std::move(version));
  };
  return answer_of(LINTEL_TRY(store::write_value<Record>(*practice.database, body)));
}

Result<std::string> list_visits(Practice& practice, const Caller& caller, std::string_view athlete,
                                const store::Page& page) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadVisits));
  const auto body = [&](store::Transaction& t) -> Result<store::RecordPage> {
    const Record of = LINTEL_TRY(store::find_record(t, caller.organization, athlete));
    LINTEL_TRY_VOID(
        require_for(caller, Permission::ReadVisits, of.organization, of.athlete, caller.person));
    store::RecordQuery query;
    query.organization = caller.organization;
    query.kind = RecordKind::Visit;
    query.athlete = athlete;
    if (!caller.has(Permission::ReadRecords)) query.created_by = caller.person;
    return store::list_records(t, query, page);
  };
  const store::RecordPage found =
      LINTEL_TRY(store::read_value<store::RecordPage>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"list_seen", athlete, athlete, "visits"}));
  std::vector<std::string> items;
  for (const Record& record : found.records) items.push_back(record_json(record));
  return formats::write_page_json(items, found.next);
}

// ---- Tests

Result<Answer> show_tests(Practice& practice, const Caller& caller, std::string_view visit) {
  std::pair<std::optional<Record>, Around> found;
  LINTEL_TRY_VOID(
      show_below(practice, caller, Permission::ReadVisits, visit, RecordKind::TestRecord, found));
  const auto& [record, around] = found;
  if (record) {
    return answer_of(
        *record,
        {{"outcome", outcome_json(record->document, *around.library, around.intake.athlete)},
         cautions()});
  }
  const std::string empty =
      formats::with_defaults("{\"results\":[]}", "",
                             {{"schema", "\"lintel-tests-1\""},
                              {"athlete", json_text_of(around.intake.athlete.id)},
                              {"date", json_text_of(around.date)}});
  return unstored(RecordKind::TestRecord, around.visit.athlete, around.visit.id, empty,
                  {{"outcome", "null"}, cautions()});
}

Result<Answer> put_tests(Practice& practice, const Caller& caller, std::string_view visit,
                         const Change& change, Faults& faults) {
  std::string outcome_text;
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Around around = LINTEL_TRY(find_around(t, caller, Permission::EnterTests, visit));
    std::vector<formats::JsonDefault> defaults = {
        {"schema", "\"lintel-tests-1\""},
        {"athlete", json_text_of(around.intake.athlete.id)},
        {"date", json_text_of(around.date)}};
    if (!caller.name.empty()) defaults.emplace_back("tester", json_text_of(caller.name));
    NewVersion next{change.expected_version,
                    formats::with_defaults(change.document, "", defaults),
                    {},
                    change.reason};
    const auto& protocols = around.library->protocols;
    auto reading = formats::read_test_record_json(next.document, "", protocols);
    if (!reading.record) return document_fault(std::move(reading.faults), faults);
    const body::RecordOutcome outcome =
        LINTEL_TRY(body::evaluate_record(*reading.record, protocols, around.intake.athlete));
    outcome_text = formats::write_test_outcome_json(*reading.record, outcome);
    next.index = index_of(*reading.record, outcome);
    return put_below(t, practice, caller, RecordKind::TestRecord, around.visit, std::move(next));
  };
  const Record record = LINTEL_TRY(store::write_value<Record>(*practice.database, body));
  return answer_of(record, {{"outcome", outcome_text}, cautions()});
}

// ---- Decisions

Result<Answer> show_overrulings(Practice& practice, const Caller& caller, std::string_view visit) {
  std::pair<std::optional<Record>, Around> found;
  LINTEL_TRY_VOID(
      show_below(practice, caller, Permission::ReadRecords, visit, RecordKind::Overrulings, found));
  const auto& [record, around] = found;
  if (record) return answer_of(*record, {cautions()});
  const std::string empty =
      formats::with_defaults("{\"overrulings\":[]}", "",
                             {{"schema", "\"lintel-overrulings-1\""},
                              {"athlete", json_text_of(around.intake.athlete.id)}});
  return unstored(RecordKind::Overrulings, around.visit.athlete, around.visit.id, empty,
                  {cautions()});
}

Result<Answer> put_overrulings(Practice& practice, const Caller& caller, std::string_view visit,
                               const Change& change, Faults& faults) {
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Around around = LINTEL_TRY(find_around(t, caller, Permission::WriteRecords, visit));
    const std::string& athlete = around.intake.athlete.id;
    std::string text = formats::with_defaults(
        change.document, "",
        {{"schema", "\"lintel-overrulings-1\""}, {"athlete", json_text_of(athlete)}});
    text = formats::with_defaults(
        text, "overrulings[]",
        {{"who", json_text_of(caller.name)}, {"date", json_text_of(practice.today())}});
    auto reading = formats::read_overrulings_json(text, "");
    if (!reading.file) return document_fault(std::move(reading.faults), faults);
    if (reading.file->athlete_id != athlete) {
      Error error{
          ErrorCode::Invalid,
          "is \"" + reading.file->athlete_id + "\", but this visit is of \"" + athlete + "\"",
          {},
          "leave it out, or give the right one",
          {}};
      error.place.field = "athlete";
      return fail(std::move(error));
    }
    NewVersion next{change.expected_version, std::move(text), dated(around.date), change.reason};
    return put_below(t, practice, caller, RecordKind::Overrulings, around.visit, std::move(next));
  };
  return answer_of(LINTEL_TRY(store::write_value<Record>(*practice.database, body)), {cautions()});
}

}  // namespace lintel::app
