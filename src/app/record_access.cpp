#include "app/record_access.h"

#include <algorithm>
#include <map>

#include "app/audit.h"
#include "app/text_file.h"
#include "formats/json_defaults.h"
#include "store/accounts.h"

namespace lintel::app {
namespace {

using store::Record;
using store::RecordKind;

Error not_there() {
  return Error{ErrorCode::NotFound,
               "there is no such record",
               {},
               "check the address, or go back to the list",
               {}};
}

formats::RecordHead head_of(const Record& record) {
  return {record.id,
          store::record_kind_name(record.kind),
          store::record_state_name(record.state),
          record.version,
          record.created_at,
          record.created_by,
          record.changed_at,
          record.changed_by,
          record.reason,
          record.athlete,
          record.parent};
}

// What one must be allowed to see the versions of a record.
Permission reading_of(RecordKind kind) {
  switch (kind) {
    case RecordKind::Visit:
    case RecordKind::Trial:
    case RecordKind::TestRecord:
      return Permission::ReadVisits;
    case RecordKind::Plan:
    case RecordKind::SessionLog:
      return Permission::ReadOwnPlan;
    case RecordKind::Organization:
    case RecordKind::Practitioner:
      return Permission::Administer;
    default:
      return Permission::ReadRecords;
  }
}

// Everybody who has or had a way in, by id: one look for all versions of a record.
using Names = std::map<std::string, std::string>;
Result<Names> names_of_people(store::Transaction& t, const std::string& organization) {
  Names names;
  for (view::Account& account : LINTEL_TRY(store::list_accounts(t, organization))) {
    names[account.person] = std::move(account.name);
  }
  return names;
}

// Null for whoever has no account here: the command line, an account that is gone, elsewhere.
std::string name_or_null(const Names& names, const std::string& person) {
  const auto found = names.find(person);
  return found == names.end() ? "null" : formats::json_text_of(found->second);
}

store::RecordQuery query_for(const Caller& caller, RecordKind kind, std::string_view athlete,
                             std::string_view parent) {
  store::RecordQuery query;
  query.organization = caller.organization;
  query.kind = kind;
  query.athlete = athlete;
  query.parent = parent;
  return query;
}

}  // namespace

tl::unexpected<Error> document_fault(std::vector<Error> found, Faults& faults) {
  LINTEL_CHECK(!found.empty());
  faults = std::move(found);
  return fail(joined_faults(faults));
}

Result<Record> find_for(store::Transaction& t, const Caller& caller, Permission permission,
                        std::string_view id, RecordKind kind) {
  LINTEL_TRY_VOID(require(caller, permission));
  Record record = LINTEL_TRY(store::find_record(t, caller.organization, id));
  if (record.kind != kind) return fail(not_there());
  LINTEL_TRY_VOID(
      require_for(caller, permission, record.organization, record.athlete, record.created_by));
  return record;
}

Result<Record> see_record(Practice& practice, const Caller& caller, Permission permission,
                          std::string_view id, RecordKind kind) {
  const auto body = [&](store::Transaction& t) -> Result<Record> {
    return find_for(t, caller, permission, id, kind);
  };
  Record record = LINTEL_TRY(store::read_value<Record>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller, {"record_seen", record.id, record.athlete, {}}));
  return record;
}

Result<std::vector<Record>> every_record(store::Transaction& t, const Caller& caller,
                                         RecordKind kind, std::string_view athlete,
                                         std::string_view parent) {
  const store::RecordQuery query = query_for(caller, kind, athlete, parent);
  std::vector<Record> all;
  store::Page page{"", 500};
  do {
    store::RecordPage found = LINTEL_TRY(store::list_records(t, query, page));
    std::move(found.records.begin(), found.records.end(), std::back_inserter(all));
    page.after = std::move(found.next);
  } while (!page.after.empty());
  return all;
}

Result<std::optional<Record>> newest_record(store::Transaction& t, const Caller& caller,
                                            RecordKind kind, std::string_view athlete,
                                            std::string_view parent) {
  const store::RecordQuery query = query_for(caller, kind, athlete, parent);
  store::RecordPage found = LINTEL_TRY(store::list_records(t, query, {"", 1}));
  if (found.records.empty()) return std::optional<Record>();
  return std::optional<Record>(std::move(found.records.front()));
}

store::Author author_of(const Practice& practice, const Caller& caller) {
  return {caller.person, practice.now()};
}

Result<Record> add_record(store::Transaction& t, const Practice& practice, const Caller& caller,
                          const store::NewRecord& record) {
  Record added = LINTEL_TRY(store::insert_record(t, record, author_of(practice, caller)));
  const std::string detail = "kind " + std::string(store::record_kind_name(added.kind));
  LINTEL_TRY_VOID(
      note_change(t, practice, caller, {"record_created", added.id, added.athlete, detail}));
  return added;
}

Result<Record> change_record(store::Transaction& t, const Practice& practice, const Caller& caller,
                             const Record& before, NewVersion next) {
  const std::int64_t expected = next.expected > 0 ? next.expected : before.version;
  Record changed =
      LINTEL_TRY(store::replace_record(t, before.id, expected, std::move(next.document), next.index,
                                       std::move(next.reason), author_of(practice, caller)));
  const std::string detail = "version " + std::to_string(changed.version);
  LINTEL_TRY_VOID(
      note_change(t, practice, caller, {"record_changed", changed.id, changed.athlete, detail}));
  return changed;
}

std::string record_json(const Record& record, const std::vector<formats::RawMember>& further) {
  return formats::write_record_json(head_of(record), record.document, further);
}

Answer answer_of(const Record& record, const std::vector<formats::RawMember>& further) {
  return {record_json(record, further), record.version, record.id};
}

Answer unstored(RecordKind kind, std::string_view athlete, std::string_view parent,
                std::string_view document, const std::vector<formats::RawMember>& further) {
  formats::RecordHead head;
  head.kind = store::record_kind_name(kind);
  head.state = store::record_state_name(store::RecordState::Active);
  head.athlete = athlete;
  head.parent = parent;
  return {formats::write_record_json(head, document, further), 0, ""};
}

Result<Answer> list_versions(Practice& practice, const Caller& caller, std::string_view id) {
  if (!caller.signed_in()) return fail(require(caller, Permission::SignedIn).error());
  using Versions = std::vector<Record>;
  Names names;
  const auto body = [&](store::Transaction& t) -> Result<Versions> {
    const Record record = LINTEL_TRY(store::find_record(t, caller.organization, id));
    LINTEL_TRY_VOID(require_for(caller, reading_of(record.kind), record.organization,
                                record.athlete, record.created_by));
    names = LINTEL_TRY(names_of_people(t, caller.organization));
    return store::record_versions(t, caller.organization, id);
  };
  const Versions versions = LINTEL_TRY(store::read_value<Versions>(*practice.database, body));
  LINTEL_TRY_VOID(note_seen(practice, caller,
                            {"record_seen", versions.back().id, versions.back().athlete, {}}));
  std::vector<std::string> items;
  for (const Record& version : versions) {
    items.push_back(
        record_json(version, {{"changed_by_name", name_or_null(names, version.changed_by)}}));
  }
  return Answer{formats::write_list_json(items), versions.back().version, versions.back().id};
}

}  // namespace lintel::app
