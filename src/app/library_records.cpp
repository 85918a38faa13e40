#include "app/library_records.h"

#include <algorithm>

#include "app/audit.h"
#include "app/drill_library.h"
#include "app/library_entry.h"
#include "app/reliability_report.h"
#include "app/test_library.h"
#include "app/text_file.h"
#include "formats/drill_json.h"
#include "formats/json_defaults.h"
#include "formats/library_json.h"
#include "formats/protocol_json.h"
#include "report/sketch.h"
#include "store/library_names.h"

namespace lintel::app {
namespace {

using body::TestProtocol;
using store::Record;
using store::RecordKind;
using store::RecordState;

formats::ChangeMark mark_of(const Record& record) {
  return {record.version, record.changed_at, record.changed_by};
}

std::string record_or_null(const std::optional<Record>& record) {
  if (!record) return "null";
  return formats::library_record_json(record->id, store::record_state_name(record->state),
                                      mark_of(*record), record->document);
}

// Whoever is signed in sees the library of the own workplace.
Result<SharedLibrary> see_library(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::SignedIn));
  return store::read_value<SharedLibrary>(*practice.database, [&](store::Transaction& t) {
    return library_of(t, caller.organization);
  });
}

Result<std::optional<Record>> own_one(store::Transaction& t, const Caller& caller, RecordKind kind,
                                      const std::string& id) {
  return store::library_record(t, caller.organization, kind, id);
}

Error is_built_in(LibraryKind kind, const std::string& id) {
  Error error{ErrorCode::Conflict,
              "\"" + id + "\" is a built-in " + std::string(word_of(kind)) + " and stays as it is",
              {},
              "make one of your own from it, under another id",
              {}};
  error.place.field = "id";
  return error;
}

// To change it. Errors: Denied; Conflict for a built-in one; NotFound with the nearest id.
Result<Record> own_to_change(store::Transaction& t, const Caller& caller, LibraryKind kind,
                             const std::string& id) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  auto own = LINTEL_TRY(own_one(t, caller, record_kind_of(kind), id));
  if (own) return *std::move(own);
  if (kind == LibraryKind::Protocol) {
    LINTEL_TRY(protocol_named(formats::built_in_protocols(), id));
  } else {
    LINTEL_TRY(drill_named(formats::built_in_drills(), id));
  }
  return fail(is_built_in(kind, id));
}

std::vector<formats::RawMember> cautions() {
  return {{"cautions", formats::cautions_json_text()}};
}

// The record's answer; its address goes by the id of the protocol or drill.
Answer answer_under(const std::string& id, const Record& record) {
  Answer answer = answer_of(record, cautions());
  answer.id = id;
  return answer;
}

struct Own {
  SharedLibrary library;
  std::optional<Record> record, error;
};
Result<Own> read_own(store::Transaction& t, const Caller& caller, LibraryKind kind,
                     const std::string& id) {
  Own own;
  own.library = LINTEL_TRY(library_of(t, caller.organization));
  own.record = LINTEL_TRY(own_one(t, caller, record_kind_of(kind), id));
  if (kind == LibraryKind::Protocol) {
    own.error = LINTEL_TRY(own_one(t, caller, RecordKind::StandardError, id));
    if (own.error && own.error->state != RecordState::Active) own.error.reset();
  }
  return own;
}

Answer card_of(const Own& own, const TestProtocol& protocol) {
  const auto published = own.library->published_error(protocol);
  std::vector<formats::RawMember> further = {
      {"record", record_or_null(own.record)},
      {"published_standard_error", formats::protocol_error_json(published, protocol.unit)},
      {"own_standard_error",
       own.error && protocol.own_error
           ? formats::own_error_json(protocol.standard_error, protocol.unit, mark_of(*own.error))
           : "null"}};
  return {formats::with_members(formats::write_protocol_card_json(protocol), further),
          own.record ? own.record->version : 0, protocol.id};
}

Answer card_of(const Own& own, const plan::Drill& drill) {
  return {formats::with_members(formats::write_drill_card_json(drill),
                                {{"record", record_or_null(own.record)}}),
          own.record ? own.record->version : 0, drill.id};
}

// Why an own one is not in force.
Result<void> check_reads(const Own& own, LibraryKind kind) {
  if (!own.record) return {};
  const LibraryEntry entry = read_library_entry(kind, own.record->document);
  if (entry.faults.empty()) return {};
  Error error = joined_faults(entry.faults);
  error.message = "this own " + std::string(word_of(kind)) +
                  " cannot be read any more and is not in force: " + error.message;
  error.mend = "put its next version";
  return fail(std::move(error));
}

Result<Answer> show(const Own& own, LibraryKind kind, const std::string& id) {
  LINTEL_TRY_VOID(check_reads(own, kind));
  if (kind == LibraryKind::Protocol) {
    return card_of(own, *LINTEL_TRY(protocol_named(own.library->protocols, id)));
  }
  return card_of(own, *LINTEL_TRY(drill_named(own.library->drills, id)));
}

// A change of state with its row of the audit trail.
Result<Record> set_state(store::Transaction& t, const Practice& practice, const Caller& caller,
                         const Record& before, RecordState state, std::int64_t expected,
                         std::string reason, std::string_view action) {
  Record after =
      LINTEL_TRY(store::set_record_state(t, before.id, expected > 0 ? expected : before.version,
                                         state, std::move(reason), author_of(practice, caller)));
  LINTEL_TRY_VOID(note_change(t, practice, caller,
                              {action, after.id, {}, "version " + std::to_string(after.version)}));
  return after;
}

}  // namespace

// ---- Reading

Result<std::string> list_library(Practice& practice, const Caller& caller, LibraryKind kind,
                                 Listing listing) {
  const SharedLibrary library = LINTEL_TRY(see_library(practice, caller));
  const bool all = listing == Listing::WithArchived;
  if (kind == LibraryKind::Drill) {
    return formats::write_drill_list_json(all ? library->drills
                                              : plan::drills_in_use(library->drills));
  }
  std::vector<TestProtocol> protocols = library->protocols;
  if (!all) std::erase_if(protocols, [](const TestProtocol& p) { return p.archived; });
  return formats::write_protocol_list_json(protocols);
}

Result<Answer> show_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                  const std::string& id) {
  LINTEL_TRY_VOID(require(caller, Permission::SignedIn));
  const Own own = LINTEL_TRY(store::read_value<Own>(
      *practice.database, [&](store::Transaction& t) { return read_own(t, caller, kind, id); }));
  return show(own, kind, id);
}

Result<std::string> library_drawing(Practice& practice, const Caller& caller, LibraryKind kind,
                                    const std::string& id) {
  const SharedLibrary library = LINTEL_TRY(see_library(practice, caller));
  if (kind == LibraryKind::Protocol) return protocol_drawing(library->protocols, id);
  return drill_drawing(library->drills, id);
}

// ---- Writing

Result<Answer> create_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                    std::string_view document, Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  LibraryEntry entry = read_library_entry(kind, document);
  if (!entry.faults.empty()) return document_fault(std::move(entry.faults), faults);
  store::NewRecord record;
  record.kind = record_kind_of(kind);
  record.organization = caller.organization;
  record.name = entry.id();
  record.document = entry.document;
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    faults.clear();
    LINTEL_TRY_VOID(check_room(t, caller, kind));
    const SharedLibrary library = LINTEL_TRY(library_of(t, caller.organization));
    auto found = LINTEL_TRY(faults_of_new(*library, entry));
    if (!found.empty() && found.front().code == ErrorCode::Conflict) return fail(found.front());
    if (!found.empty()) return document_fault(std::move(found), faults);
    return add_record(t, practice, caller, record);
  };
  return answer_under(entry.id(), LINTEL_TRY(store::write_value<Record>(*practice.database, body)));
}

Result<Answer> change_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                    const std::string& id, const LibraryChange& change,
                                    Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const LibraryEntry entry = read_library_entry(kind, change.document);
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    faults.clear();
    const Record before = LINTEL_TRY(own_to_change(t, caller, kind, id));
    if (!entry.faults.empty()) return document_fault(entry.faults, faults);
    const SharedLibrary library = LINTEL_TRY(library_of(t, caller.organization));
    auto found = LINTEL_TRY(faults_of_change(t, caller, *library, entry, id));
    if (!found.empty()) return document_fault(std::move(found), faults);
    return change_record(t, practice, caller, before,
                         {change.expected_version, entry.document, {}, change.reason});
  };
  return answer_under(id, LINTEL_TRY(store::write_value<Record>(*practice.database, body)));
}

Result<Answer> archive_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                     const std::string& id, Offered offered,
                                     std::int64_t expected_version, std::string reason) {
  const bool back = offered == Offered::Yes;
  const RecordState state = back ? RecordState::Active : RecordState::Archived;
  const std::string action = std::string(word_of(kind)) + (back ? "_brought_back" : "_archived");
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    const Record before = LINTEL_TRY(own_to_change(t, caller, kind, id));
    if (before.state == state) return before;
    return set_state(t, practice, caller, before, state, expected_version, reason, action);
  };
  return answer_under(id, LINTEL_TRY(store::write_value<Record>(*practice.database, body)));
}

Result<CheckedEntry> check_library_entry(Practice& practice, const Caller& caller, LibraryKind kind,
                                         std::string_view document, const std::string& changes) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  LibraryEntry entry = read_library_entry(kind, document);
  CheckedEntry out;
  if (entry.drawing) {
    const std::string title = entry.name.empty() ? std::string(word_of(kind)) : entry.name;
    out.drawing_svg = report::draw_sketch_svg(title, *entry.drawing).value_or("");
  }
  out.faults = std::move(entry.faults);
  if (!out.faults.empty()) return out;
  const auto body = [&](store::Transaction& t) -> Result<Faults> {
    const SharedLibrary library = LINTEL_TRY(library_of(t, caller.organization));
    if (changes.empty()) return faults_of_new(*library, entry);
    LINTEL_TRY(own_to_change(t, caller, kind, changes));
    return faults_of_change(t, caller, *library, entry, changes);
  };
  out.faults = LINTEL_TRY(store::read_value<Faults>(*practice.database, body));
  return out;
}

// ---- Standard errors

namespace {

Error version_needed(std::int64_t version) {
  Error error{ErrorCode::Conflict,
              "there is version " + std::to_string(version) + " already",
              {},
              "read it, and send the change with its version",
              {}};
  error.place.field = "version";
  return error;
}

// The next version of one that is there; one that was dropped comes back with it.
Result<Record> renew(store::Transaction& t, const Practice& practice, const Caller& caller,
                     Record before, NewVersion next) {
  const bool in_force = before.state == RecordState::Active;
  if (in_force && next.expected == 0) return fail(version_needed(before.version));
  if (!in_force && next.expected <= 0) {
    before = LINTEL_TRY(set_state(t, practice, caller, before, RecordState::Active, 0, next.reason,
                                  "standard_error_brought_back"));
  } else if (!in_force) {
    return fail(ErrorCode::Conflict, "there is none in force", "send the first one with version 0");
  }
  next.expected = std::max<std::int64_t>(next.expected, 0);
  return change_record(t, practice, caller, before, std::move(next));
}

Result<Record> store_standard_error(store::Transaction& t, const Practice& practice,
                                    const Caller& caller, const std::string& protocol,
                                    NewVersion next) {
  auto before = LINTEL_TRY(own_one(t, caller, RecordKind::StandardError, protocol));
  if (before) return renew(t, practice, caller, *std::move(before), std::move(next));
  if (next.expected > 0) {
    return fail(ErrorCode::Conflict, "nothing is stored yet", "send the first one with version 0");
  }
  store::NewRecord record;
  record.kind = RecordKind::StandardError;
  record.organization = caller.organization;
  record.name = protocol;
  record.document = std::move(next.document);
  return add_record(t, practice, caller, record);
}

}  // namespace

Result<Answer> put_standard_error(Practice& practice, const Caller& caller,
                                  const std::string& protocol, const LibraryChange& change,
                                  Faults& faults) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    faults.clear();
    const SharedLibrary library = LINTEL_TRY(library_of(t, caller.organization));
    const TestProtocol& of = *LINTEL_TRY(protocol_named(library->protocols, protocol));
    const std::string unit(body::protocol_unit_name(of.unit));
    const std::string text = formats::with_defaults(change.document, "",
                                                    {{"schema", "\"lintel-standard-error-1\""},
                                                     {"protocol", formats::json_text_of(of.id)},
                                                     {"unit", formats::json_text_of(unit)}});
    auto reading = formats::read_standard_error_json(text, "", of);
    if (!reading.error) return document_fault(std::move(reading.faults), faults);
    return store_standard_error(t, practice, caller, of.id,
                                {change.expected_version,
                                 formats::write_standard_error_json(of, *reading.error),
                                 {},
                                 change.reason});
  };
  return answer_under(protocol, LINTEL_TRY(store::write_value<Record>(*practice.database, body)));
}

Result<Answer> drop_standard_error(Practice& practice, const Caller& caller,
                                   const std::string& protocol, std::int64_t expected_version,
                                   const std::string& reason) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const auto body = [&](store::Transaction& t) -> Result<Own> {
    const Own own = LINTEL_TRY(read_own(t, caller, LibraryKind::Protocol, protocol));
    LINTEL_TRY(protocol_named(own.library->protocols, protocol));
    if (!own.error) {
      return fail(ErrorCode::NotFound, "this protocol has no standard error of your own",
                  "the published one is in force already");
    }
    LINTEL_TRY(set_state(t, practice, caller, *own.error, RecordState::Withdrawn, expected_version,
                         reason, "standard_error_dropped"));
    return read_own(t, caller, LibraryKind::Protocol, protocol);
  };
  const Own own = LINTEL_TRY(store::write_value<Own>(*practice.database, body));
  return show(own, LibraryKind::Protocol, protocol);
}

Result<std::string> reliability_of_protocol(Practice& practice, const Caller& caller,
                                            const std::string& protocol, std::string_view table,
                                            int tries_per_value) {
  LINTEL_TRY_VOID(require(caller, Permission::Compute));
  const SharedLibrary library = LINTEL_TRY(see_library(practice, caller));
  TestProtocol of = *LINTEL_TRY(protocol_named(library->protocols, protocol));
  of.standard_error = library->published_error(of);
  return reliability_of_table(table, of, tries_per_value, practice.today());
}

}  // namespace lintel::app
