#include "store/library_names.h"

#include "store/record_rows.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

const std::string kOfNewest =
    " JOIN record_versions v ON v.record = r.id AND v.version = r.version ";

// All rows of a statement that selects kRecordColumns and nothing else.
std::vector<Record> take_records(soci::details::prepare_temp_type& prepared) {
  std::vector<Record> found;
  RecordOut out;
  out.into(prepared);
  soci::statement statement(prepared);
  statement.execute();
  while (statement.fetch()) found.push_back(out.record());
  return found;
}

}  // namespace

bool has_library_name(RecordKind kind) {
  return kind == RecordKind::Protocol || kind == RecordKind::Drill ||
         kind == RecordKind::StandardError;
}

Result<void> claim_library_name(Transaction& t, const Record& record, std::string_view name_view) {
  return run_sql(t, "taking a name", [&](soci::session& sql) -> Result<void> {
    const std::string kind(record_kind_name(record.kind)), name(name_view);
    const std::int64_t added =
        run_statement(sql,
                      "INSERT INTO library_names (organization, kind, name, record)"
                      " VALUES (:organization, :kind, :name, :record) ON CONFLICT DO NOTHING",
                      soci::use(record.organization, "organization"), soci::use(kind, "kind"),
                      soci::use(name, "name"), soci::use(record.id, "record"));
    if (added == 1) return {};
    Error error{ErrorCode::Conflict,
                "\"" + name + "\" is taken in this workplace",
                {},
                "look at the one that is there; an archived one keeps its id, because results are "
                "kept by it",
                {}};
    error.place.field = "id";
    return fail(std::move(error));
  });
}

Result<std::vector<NamedRecord>> library_records(Transaction& t, std::string_view organization) {
  return run_sql(t, "reading the library", [&](soci::session& sql) {
    const std::string of(organization);
    std::vector<NamedRecord> found;
    std::string name;
    RecordOut out;
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT " << kRecordColumns
             << ", n.name FROM library_names n JOIN records r ON r.id = n.record" << kOfNewest
             << "WHERE n.organization = :organization ORDER BY n.kind, n.name";
    prepared, soci::use(of, "organization");
    out.into(prepared);
    prepared, soci::into(name);
    soci::statement statement(prepared);
    statement.execute();
    while (statement.fetch()) found.push_back({name, out.record()});
    return found;
  });
}

Result<std::optional<Record>> library_record(Transaction& t, std::string_view organization,
                                             RecordKind kind, std::string_view name) {
  return run_sql(t, "reading the library", [&](soci::session& sql) -> std::optional<Record> {
    const std::string of(organization), wanted(name), kind_name(record_kind_name(kind));
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT " << kRecordColumns
             << " FROM library_names n JOIN records r ON r.id = n.record" << kOfNewest
             << "WHERE n.organization = :organization AND n.kind = :kind AND n.name = :name";
    prepared, soci::use(of, "organization"), soci::use(kind_name, "kind"),
        soci::use(wanted, "name");
    std::vector<Record> found = take_records(prepared);
    if (found.empty()) return std::nullopt;
    return std::move(found.front());
  });
}

Result<std::string> library_state(Transaction& t, std::string_view organization) {
  return run_sql(t, "reading the library", [&](soci::session& sql) {
    const std::string of(organization);
    std::string all, kind, name, state, sha256;
    soci::statement rows =
        (sql.prepare << "SELECT n.kind, n.name, v.state, v.sha256 FROM library_names n"
                        " JOIN records r ON r.id = n.record"
                     << kOfNewest << "WHERE n.organization = :organization ORDER BY n.kind, n.name",
         soci::use(of, "organization"), soci::into(kind), soci::into(name), soci::into(state),
         soci::into(sha256));
    rows.execute();
    while (rows.fetch()) {
      for (const std::string& part : {kind, name, state, sha256}) all.append(part).append(" ");
    }
    return all;
  });
}

Result<std::int64_t> count_library(Transaction& t, std::string_view organization, RecordKind kind) {
  return run_sql(t, "counting the library", [&](soci::session& sql) {
    const std::string of(organization), kind_name(record_kind_name(kind));
    std::int64_t count = 0;
    sql << "SELECT COUNT(*) FROM library_names WHERE organization = :organization AND kind = :kind",
        soci::use(of, "organization"), soci::use(kind_name, "kind"), soci::into(count);
    return count;
  });
}

Result<std::vector<Record>> records_naming(Transaction& t, std::string_view organization,
                                           RecordKind kind, std::string_view name) {
  return run_sql(t, "looking for records", [&](soci::session& sql) {
    const std::string of(organization), kind_name(record_kind_name(kind));
    const std::string pattern = "%\"" + std::string(name) + "\"%";
    soci::details::prepare_temp_type prepared(sql);
    prepared << "SELECT " << kRecordColumns << " FROM records r" << kOfNewest
             << "WHERE r.organization = :organization AND r.kind = :kind"
                " AND v.document LIKE :pattern ORDER BY r.id";
    prepared, soci::use(of, "organization"), soci::use(kind_name, "kind"),
        soci::use(pattern, "pattern");
    return take_records(prepared);
  });
}

}  // namespace lintel::store
