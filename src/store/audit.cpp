#include "store/audit.h"

#include <array>
#include <charconv>

#include "secure/chain.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

using view::AuditRow;

constexpr const char* kSchema = "lintel-audit-1";
constexpr int kMostRowsOfAPage = 500;

const std::string kSelect =
    "SELECT sequence, organization, at, person, session, peer, action, record, athlete, detail, "
    "previous_hash, hash FROM audit_trail ";

// Runs a prepared SELECT of kSelect; each of `bindings` is a soci::use.
template <typename... Bindings>
std::vector<AuditRow> rows_of(soci::session& sql, const std::string& text, Bindings&&... bindings) {
  AuditRow row;
  soci::details::prepare_temp_type prepared(sql);
  prepared << text;
  ((void)(prepared, std::forward<Bindings>(bindings)), ...);
  (void)(prepared, soci::into(row.sequence), soci::into(row.organization), soci::into(row.at),
         soci::into(row.person), soci::into(row.session), soci::into(row.peer),
         soci::into(row.action), soci::into(row.record), soci::into(row.athlete),
         soci::into(row.detail), soci::into(row.previous_hash), soci::into(row.hash));
  soci::statement statement(prepared);
  statement.execute();
  std::vector<AuditRow> rows;
  while (statement.fetch()) rows.push_back(row);
  return rows;
}

Result<std::int64_t> cursor_of(const std::string& after) {
  if (after.empty()) return std::int64_t{0};
  std::int64_t sequence = 0;
  const auto [end, status] = std::from_chars(after.data(), after.data() + after.size(), sequence);
  if (status != std::errc{} || end != after.data() + after.size() || sequence < 1) {
    Error error{ErrorCode::Invalid,
                "this is not a cursor of the audit trail",
                {},
                "take \"next\" of the page before",
                {}};
    error.place.field = "after";
    return fail(error);
  }
  return sequence;
}

}  // namespace

std::string audit_hash(const AuditRow& row) {
  const std::string sequence = std::to_string(row.sequence);
  const std::array<std::string_view, 11> fields = {
      kSchema,  sequence,   row.organization, row.at,      row.person, row.session,
      row.peer, row.action, row.record,       row.athlete, row.detail};
  return secure::chain_hash(row.previous_hash, fields);
}

Result<AuditRow> append_audit(Transaction& t, AuditRow row) {
  return run_sql(t, "writing the audit trail", [&](soci::session& sql) -> Result<AuditRow> {
    // On PostgreSQL the head's row is the lock that puts writers in a row. SQLite has one writer.
    const std::string lock = t.sqlite() ? "" : " FOR UPDATE";
    std::int64_t last = 0;
    sql << "SELECT sequence, hash FROM audit_head WHERE only_one = 1" + lock, soci::into(last),
        soci::into(row.previous_hash);
    if (!sql.got_data()) return fail(ErrorCode::Internal, "the audit trail has lost its head");
    row.sequence = last + 1;
    row.hash = audit_hash(row);
    sql << "INSERT INTO audit_trail (sequence, organization, at, person, session, peer, action, "
           "record, athlete, detail, previous_hash, hash) VALUES (:sequence, :organization, :at, "
           ":person, :session, :peer, :action, :record, :athlete, :detail, :previous_hash, :hash)",
        soci::use(row.sequence, "sequence"), soci::use(row.organization, "organization"),
        soci::use(row.at, "at"), soci::use(row.person, "person"), soci::use(row.session, "session"),
        soci::use(row.peer, "peer"), soci::use(row.action, "action"),
        soci::use(row.record, "record"), soci::use(row.athlete, "athlete"),
        soci::use(row.detail, "detail"), soci::use(row.previous_hash, "previous_hash"),
        soci::use(row.hash, "hash");
    sql << "UPDATE audit_head SET sequence = :sequence, hash = :hash WHERE only_one = 1",
        soci::use(row.sequence, "sequence"), soci::use(row.hash, "hash");
    return row;
  });
}

Result<bool> audited_since(Transaction& t, std::string_view session_view,
                           std::string_view action_view, std::string_view record_view,
                           std::string_view since_view, std::string_view detail_view) {
  return run_sql(t, "reading the audit trail", [&](soci::session& sql) {
    const std::string session(session_view), action(action_view), record(record_view),
        since(since_view), detail(detail_view);
    std::int64_t found = 0;
    sql << "SELECT COUNT(*) FROM (SELECT 1 FROM audit_trail WHERE session = :session AND record = "
           ":record AND action = :action AND at >= :since AND (:detail1 = '' OR detail = :detail2) "
           "LIMIT 1) AS seen",
        soci::use(session, "session"), soci::use(record, "record"), soci::use(action, "action"),
        soci::use(since, "since"), soci::use(detail, "detail1"), soci::use(detail, "detail2"),
        soci::into(found);
    return found > 0;
  });
}

Result<view::AuditPage> list_audit(Transaction& t, const AuditFilter& filter, const Page& page) {
  const std::int64_t before = LINTEL_TRY(cursor_of(page.after));
  if (page.limit < 1 || page.limit > kMostRowsOfAPage) {
    Error error{ErrorCode::Invalid, "a page has 1 to 500 rows", {}, {}, {}};
    error.place.field = "limit";
    return fail(error);
  }
  return run_sql(t, "reading the audit trail", [&](soci::session& sql) {
    const std::int64_t limit = page.limit + 1;
    std::vector<AuditRow> rows = rows_of(
        sql,
        kSelect +
            "WHERE organization = :organization AND (:before1 = 0 OR sequence < :before2) "
            "AND (:athlete1 = '' OR athlete = :athlete2) AND (:person1 = '' OR person = :person2) "
            "AND (:record1 = '' OR record = :record2) AND (:action1 = '' OR action = :action2) "
            "ORDER BY sequence DESC LIMIT :limit",
        soci::use(filter.organization, "organization"), soci::use(before, "before1"),
        soci::use(before, "before2"), soci::use(filter.athlete, "athlete1"),
        soci::use(filter.athlete, "athlete2"), soci::use(filter.person, "person1"),
        soci::use(filter.person, "person2"), soci::use(filter.record, "record1"),
        soci::use(filter.record, "record2"), soci::use(filter.action, "action1"),
        soci::use(filter.action, "action2"), soci::use(limit, "limit"));
    view::AuditPage out;
    if (static_cast<int>(rows.size()) > page.limit) {
      rows.pop_back();
      out.next = std::to_string(rows.back().sequence);
    }
    out.rows = std::move(rows);
    return out;
  });
}

Result<AuditHead> audit_head(Transaction& t) {
  return run_sql(t, "reading the audit trail", [&](soci::session& sql) -> Result<AuditHead> {
    AuditHead head;
    sql << "SELECT sequence, hash FROM audit_head WHERE only_one = 1", soci::into(head.sequence),
        soci::into(head.hash);
    if (!sql.got_data()) return fail(ErrorCode::Internal, "the audit trail has lost its head");
    return head;
  });
}

Result<std::vector<AuditRow>> audit_rows_after(Transaction& t, std::int64_t sequence, int limit) {
  return run_sql(t, "reading the audit trail", [&](soci::session& sql) {
    const std::int64_t rows = limit;
    return rows_of(sql, kSelect + "WHERE sequence > :sequence ORDER BY sequence LIMIT :rows",
                   soci::use(sequence, "sequence"), soci::use(rows, "rows"));
  });
}

}  // namespace lintel::store
