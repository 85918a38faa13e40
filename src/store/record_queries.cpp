#include <optional>
#include <utility>

#include "secure/sha256.h"
#include "store/cursor.h"
#include "store/record_rows.h"
#include "store/records.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

std::string digest_of(std::string_view text) {
  return secure::sha256_hex({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

// The conditions of a query as text with its bound values, which must not move while they are used.
struct ListFilter {
  std::string where;
  std::string organization, kind, athlete, parent, created_by, state;
  std::string after_date, after_created, after_id;

  void bind(soci::details::prepare_temp_type& statement) const {
    statement, soci::use(organization, "organization");
    if (!kind.empty()) statement, soci::use(kind, "kind");
    if (!athlete.empty()) statement, soci::use(athlete, "athlete");
    if (!parent.empty()) statement, soci::use(parent, "parent");
    if (!created_by.empty()) statement, soci::use(created_by, "created_by");
    if (!state.empty()) statement, soci::use(state, "state");
    if (!after_id.empty()) {
      statement, soci::use(after_date, "after_date"), soci::use(after_created, "after_created"),
          soci::use(after_id, "after_id");
    }
  }
};

Result<ListFilter> filter_of(const RecordQuery& query, const Page& page) {
  ListFilter out;
  out.where = "r.organization = :organization";
  const auto add = [&](std::string& field, std::string_view value, std::string_view condition) {
    if (value.empty()) return;
    field = value;
    out.where += std::string(" AND ") + std::string(condition);
  };
  out.organization = query.organization;
  if (query.kind) add(out.kind, record_kind_name(*query.kind), "r.kind = :kind");
  add(out.athlete, query.athlete, "r.athlete = :athlete");
  add(out.parent, query.parent, "r.parent = :parent");
  add(out.created_by, query.created_by, "r.created_by = :created_by");
  if (query.state) add(out.state, record_state_name(*query.state), "r.state = :state");
  if (page.after.empty()) return out;
  const std::vector<std::string> cursor = LINTEL_TRY(read_cursor(page.after, 3));
  out.after_date = cursor[0];
  out.after_created = cursor[1];
  add(out.after_id, cursor[2],
      "(r.date, r.created_at, r.id) < (:after_date, :after_created, :after_id)");
  return out;
}

// Sorts and pages with the small rows alone; the documents of one page come after.
std::string list_text(const ListFilter& filter, int rows) {
  return std::string("SELECT ") + kRecordColumns + ", r.date FROM (SELECT * FROM records r WHERE " +
         filter.where + " ORDER BY r.date DESC, r.created_at DESC, r.id DESC LIMIT " +
         std::to_string(rows) +
         ") r JOIN record_versions v ON v.record = r.id AND v.version = r.version"
         " ORDER BY r.date DESC, r.created_at DESC, r.id DESC";
}

// Fields as their length, a colon and their bytes: no two lists of fields look the same.
void add_fields(secure::Sha256& digest, std::initializer_list<std::string_view> fields) {
  for (const std::string_view field : fields) {
    digest.add(std::to_string(field.size()) + ":");
    digest.add(field);
  }
  digest.add("\n");
}

// Every version in order; `take` gets the record and whether it is the newest.
template <typename F>
void each_version(soci::session& sql, F&& take) {
  RecordOut out;
  std::int64_t newest = 0;
  soci::details::prepare_temp_type prepared(sql);
  prepared << "SELECT " << kRecordColumns
           << ", r.version FROM record_versions v JOIN records r ON r.id = v.record"
              " ORDER BY v.record, v.version";
  out.into(prepared);
  prepared, soci::into(newest);
  soci::statement statement(prepared);
  statement.execute();
  while (statement.fetch()) take(out.record(), newest);
}

}  // namespace

Result<Record> find_record(Transaction& t, std::string_view organization, std::string_view id) {
  return run_sql(t, "reading a record", [&](soci::session& sql) -> Result<Record> {
    const std::string wanted(id), of(organization);
    RecordOut out;
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT " << kRecordColumns
             << " FROM records r JOIN record_versions v ON v.record = r.id AND v.version ="
                " r.version WHERE r.id = :id AND r.organization = :organization";
    prepared, soci::use(wanted, "id"), soci::use(of, "organization");
    out.into(prepared);
    soci::statement statement(prepared);
    if (!statement.execute(true)) return fail(ErrorCode::NotFound, "there is no such record");
    return out.record();
  });
}

Result<std::vector<Record>> record_versions(Transaction& t, std::string_view organization,
                                            std::string_view id) {
  using Versions = std::vector<Record>;
  return run_sql(t, "reading the history", [&](soci::session& sql) -> Result<Versions> {
    const std::string wanted(id), of(organization);
    RecordOut out;
    Versions versions;
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT " << kRecordColumns
             << " FROM records r JOIN record_versions v ON v.record = r.id"
                " WHERE r.id = :id AND r.organization = :organization ORDER BY v.version";
    prepared, soci::use(wanted, "id"), soci::use(of, "organization");
    out.into(prepared);
    soci::statement statement(prepared);
    statement.execute();
    while (statement.fetch()) versions.push_back(out.record());
    if (versions.empty()) return fail(ErrorCode::NotFound, "there is no such record");
    return versions;
  });
}

Result<RecordPage> list_records(Transaction& t, const RecordQuery& query, const Page& page) {
  LINTEL_TRY_VOID(check_limit(page.limit));
  const ListFilter filter = LINTEL_TRY(filter_of(query, page));
  return run_sql(t, "listing records", [&](soci::session& sql) {
    RecordOut out;
    RecordPage found;
    std::string date, last_date;
    soci::details::prepare_temp_type prepared(sql);
    prepared << list_text(filter, page.limit + 1);  // one more tells whether there is a next page
    filter.bind(prepared);
    out.into(prepared);
    prepared, soci::into(date);
    soci::statement statement(prepared);
    statement.execute();
    while (statement.fetch()) {
      if (found.records.size() == static_cast<std::size_t>(page.limit)) {
        found.next =
            write_cursor({last_date, found.records.back().created_at, found.records.back().id});
        break;
      }
      found.records.push_back(out.record());
      last_date = date;
    }
    return found;
  });
}

Result<std::string> digest_of_everything(Transaction& t) {
  return run_sql(t, "reading every record", [&](soci::session& sql) {
    secure::Sha256 digest;
    each_version(sql, [&](const Record& record, std::int64_t newest) {
      add_fields(digest,
                 {record.id, record_kind_name(record.kind), record.organization, record.athlete,
                  record.parent, std::to_string(record.version), std::to_string(newest),
                  record_state_name(record.state), record.created_at, record.created_by,
                  record.changed_at, record.changed_by, record.reason, digest_of(record.document)});
    });
    std::string record, sha256, media_type;
    std::int64_t bytes = 0;
    soci::statement media =
        (sql.prepare << "SELECT record, sha256, bytes, media_type FROM media_references"
                        " ORDER BY record, sha256",
         soci::into(record), soci::into(sha256), soci::into(bytes), soci::into(media_type));
    media.execute();
    while (media.fetch()) add_fields(digest, {record, sha256, std::to_string(bytes), media_type});
    return digest.hex();
  });
}

Result<void> check_records(Transaction& t) {
  return run_sql(t, "checking every record", [&](soci::session& sql) -> Result<void> {
    std::string fault, last;
    std::int64_t expected = 1, last_newest = 0;
    const auto blame = [&](const std::string& record, const std::string& what) {
      if (fault.empty()) fault = "record " + record + " " + what;
    };
    each_version(sql, [&](const Record& record, std::int64_t newest) {
      if (record.id != last) {
        if (!last.empty() && expected != last_newest + 1) blame(last, "lacks its newest version");
        last = record.id;
        expected = 1;
      }
      if (record.version != expected) blame(record.id, "has a gap in its versions");
      if (digest_of(record.document) != record.sha256) {
        blame(record.id, "has a document that is not the one that was written");
      }
      expected = record.version + 1;
      last_newest = newest;
    });
    if (!last.empty() && expected != last_newest + 1) blame(last, "lacks its newest version");
    std::int64_t without = 0;
    sql << "SELECT COUNT(*) FROM records r WHERE NOT EXISTS"
           " (SELECT 1 FROM record_versions v WHERE v.record = r.id AND v.version = r.version"
           "  AND v.state = r.state)",
        soci::into(without);
    if (without > 0 && fault.empty()) fault = std::to_string(without) + " records lack a version";
    sql << "SELECT COUNT(*) FROM records r WHERE r.kind IN ('protocol', 'drill', 'standard_error')"
           " AND NOT EXISTS (SELECT 1 FROM library_names n WHERE n.record = r.id"
           "  AND n.organization = r.organization AND n.kind = r.kind)",
        soci::into(without);
    if (without > 0 && fault.empty()) fault = std::to_string(without) + " records lack a name";
    if (fault.empty()) return {};
    return fail(ErrorCode::Invalid, "the records are damaged: " + fault, "restore the last backup");
  });
}

}  // namespace lintel::store
