#include "store/records.h"

#include <algorithm>
#include <array>
#include <utility>

#include "secure/random.h"
#include "secure/sha256.h"
#include "store/athlete_summary.h"
#include "store/library_names.h"
#include "store/record_rows.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

constexpr std::array<std::pair<RecordKind, std::string_view>, 13> kKindNames{{
    {RecordKind::Organization, "organization"},
    {RecordKind::Practitioner, "practitioner"},
    {RecordKind::Athlete, "athlete"},
    {RecordKind::Visit, "visit"},
    {RecordKind::Trial, "trial"},
    {RecordKind::TestRecord, "tests"},
    {RecordKind::Overrulings, "overrulings"},
    {RecordKind::Plan, "plan"},
    {RecordKind::SessionLog, "session_log"},
    {RecordKind::Attachment, "attachment"},
    {RecordKind::Protocol, "protocol"},
    {RecordKind::Drill, "drill"},
    {RecordKind::StandardError, "standard_error"},
}};
constexpr std::array<std::pair<RecordState, std::string_view>, 3> kStateNames{{
    {RecordState::Active, "active"},
    {RecordState::Archived, "archived"},
    {RecordState::Withdrawn, "withdrawn"},
}};

tl::unexpected<Error> not_there(std::string what, std::string field = {}) {
  Error error{ErrorCode::NotFound, "there is no such " + what, {}, {}, {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

std::string digest_of(std::string_view document) {
  return secure::sha256_hex(
      {reinterpret_cast<const std::uint8_t*>(document.data()), document.size()});
}

// What a new record stands on: no such id yet, its athlete and its parent there.
Result<void> check_places(Transaction& t, const Record& record) {
  return run_sql(t, "adding a record", [&](soci::session& sql) -> Result<void> {
    const std::string own = record.kind == RecordKind::Athlete ? std::string() : record.athlete;
    std::int64_t taken = 0, athletes = 0, parents = 0;
    sql << "SELECT (SELECT COUNT(*) FROM records WHERE id = :id),"
           " (SELECT COUNT(*) FROM records WHERE id = :athlete AND kind = 'athlete'"
           "   AND organization = :organization),"
           " (SELECT COUNT(*) FROM records WHERE id = :parent AND organization = :organization)",
        soci::use(record.id, "id"), soci::use(own, "athlete"), soci::use(record.parent, "parent"),
        soci::use(record.organization, "organization"), soci::into(taken), soci::into(athletes),
        soci::into(parents);
    if (taken > 0) return fail(ErrorCode::Conflict, "a record with this id is there already");
    if (!own.empty() && athletes == 0) return not_there("athlete", "athlete");
    if (!record.parent.empty() && parents == 0) return not_there("record", "parent");
    return {};
  });
}

Result<void> add_version(Transaction& t, const Record& record) {
  return run_sql(t, "writing a version", [&](soci::session& sql) {
    const std::string state(record_state_name(record.state));
    sql << "INSERT INTO record_versions (record, version, state, changed_at, changed_by, reason,"
           " sha256, document) VALUES (:record, :version, :state, :changed_at, :changed_by,"
           " :reason, :sha256, :document)",
        soci::use(record.id, "record"), soci::use(record.version, "version"),
        soci::use(state, "state"), soci::use(record.changed_at, "changed_at"),
        soci::use(record.changed_by, "changed_by"), soci::use(record.reason, "reason"),
        soci::use(record.sha256, "sha256"), soci::use(record.document, "document");
  });
}

Result<void> add_row(Transaction& t, const Record& record, const std::string& date) {
  return run_sql(t, "adding a record", [&](soci::session& sql) {
    const std::string kind(record_kind_name(record.kind));
    const std::string state(record_state_name(record.state));
    const auto athlete = OptionalIn<std::string>::unless_empty(record.athlete);
    const auto parent = OptionalIn<std::string>::unless_empty(record.parent);
    sql << "INSERT INTO records (id, kind, organization, athlete, parent, version, state, date,"
           " created_at, created_by, changed_at) VALUES (:id, :kind, :organization, :athlete,"
           " :parent, :version, :state, :date, :created_at, :created_by, :changed_at)",
        soci::use(record.id, "id"), soci::use(kind, "kind"),
        soci::use(record.organization, "organization"), athlete.use("athlete"),
        parent.use("parent"), soci::use(record.version, "version"), soci::use(state, "state"),
        soci::use(date, "date"), soci::use(record.created_at, "created_at"),
        soci::use(record.created_by, "created_by"), soci::use(record.changed_at, "changed_at");
  });
}

// The newest version, whatever the organization.
Result<Record> newest(Transaction& t, std::string_view id) {
  return run_sql(t, "reading a record", [&](soci::session& sql) -> Result<Record> {
    const std::string wanted(id);
    RecordOut out;
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT " << kRecordColumns
             << " FROM records r JOIN record_versions v ON v.record = r.id AND v.version ="
                " r.version WHERE r.id = :id";
    prepared, soci::use(wanted, "id");
    out.into(prepared);
    soci::statement statement(prepared);
    if (!statement.execute(true)) return not_there("record");
    return out.record();
  });
}

// The next version of a record, not yet written.
Result<Record> next_version(Transaction& t, std::string_view id, std::int64_t expected_version,
                            std::string reason, const Author& author) {
  Record record = LINTEL_TRY(newest(t, id));
  if (record.version != expected_version) {
    return fail(ErrorCode::Conflict,
                "somebody else changed this record: it has version " +
                    std::to_string(record.version) + ", the change was made to version " +
                    std::to_string(expected_version),
                "look at the newest version and make the change again");
  }
  ++record.version;
  record.changed_at = author.at;
  record.changed_by = author.person;
  record.reason = std::move(reason);
  return record;
}

// No date: it stays where it was in the timeline.
Result<void> write_next(Transaction& t, const Record& record,
                        const std::optional<std::string>& date) {
  const std::int64_t rows =
      LINTEL_TRY(run_sql(t, "changing a record", [&](soci::session& sql) -> std::int64_t {
        const std::string state(record_state_name(record.state));
        const std::int64_t before = record.version - 1;
        const OptionalIn<std::string> day(date);
        return run_statement(
            sql,
            "UPDATE records SET version = :version, state = :state, changed_at = :changed_at,"
            " date = COALESCE(:date, date) WHERE id = :id AND version = :before",
            soci::use(record.version, "version"), soci::use(state, "state"),
            soci::use(record.changed_at, "changed_at"), day.use("date"), soci::use(record.id, "id"),
            soci::use(before, "before"));
      }));
  if (rows != 1) return fail(ErrorCode::Conflict, "somebody else changed this record meanwhile");
  return add_version(t, record);
}

}  // namespace

std::string_view record_kind_name(RecordKind kind) {
  for (const auto& [one, name] : kKindNames) {
    if (one == kind) return name;
  }
  return {};
}

std::optional<RecordKind> record_kind_from(std::string_view name) {
  for (const auto& [kind, one] : kKindNames) {
    if (one == name) return kind;
  }
  return std::nullopt;
}

std::string_view record_state_name(RecordState state) {
  for (const auto& [one, name] : kStateNames) {
    if (one == state) return name;
  }
  return {};
}

std::optional<RecordState> record_state_from(std::string_view name) {
  for (const auto& [state, one] : kStateNames) {
    if (one == name) return state;
  }
  return std::nullopt;
}

Result<Record> insert_record(Transaction& t, const NewRecord& record, const Author& author) {
  LINTEL_TRY_VOID(check_index(record.index));
  LINTEL_CHECK(has_library_name(record.kind) != record.name.empty());
  Record out;
  out.id = record.id.empty() ? secure::random_id() : record.id;
  out.kind = record.kind;
  out.organization = record.kind == RecordKind::Organization ? out.id : record.organization;
  out.athlete = record.kind == RecordKind::Athlete ? out.id : record.athlete;
  out.parent = record.parent;
  out.created_at = out.changed_at = author.at;
  out.created_by = out.changed_by = author.person;
  out.document = record.document;
  out.sha256 = digest_of(out.document);
  LINTEL_TRY_VOID(check_places(t, out));
  LINTEL_TRY_VOID(add_row(t, out, record.index.date));
  LINTEL_TRY_VOID(add_version(t, out));
  LINTEL_TRY_VOID(write_index(t, out, record.index));
  if (!record.name.empty()) LINTEL_TRY_VOID(claim_library_name(t, out, record.name));
  return out;
}

Result<Record> replace_record(Transaction& t, std::string_view id, std::int64_t expected_version,
                              std::string document, const IndexRows& index, std::string reason,
                              const Author& author) {
  LINTEL_TRY_VOID(check_index(index));
  Record record = LINTEL_TRY(next_version(t, id, expected_version, std::move(reason), author));
  record.document = std::move(document);
  record.sha256 = digest_of(record.document);
  LINTEL_TRY_VOID(write_next(t, record, index.date));
  LINTEL_TRY_VOID(write_index(t, record, index));
  return record;
}

Result<Record> set_record_state(Transaction& t, std::string_view id, std::int64_t expected_version,
                                RecordState state, std::string reason, const Author& author) {
  Record record = LINTEL_TRY(next_version(t, id, expected_version, std::move(reason), author));
  record.state = state;
  LINTEL_TRY_VOID(write_next(t, record, std::nullopt));
  if (record.kind == RecordKind::Athlete) LINTEL_TRY_VOID(note_athlete_version(t, record));
  if (!record.athlete.empty()) LINTEL_TRY_VOID(refresh_athlete(t, record.athlete));
  return record;
}

}  // namespace lintel::store
