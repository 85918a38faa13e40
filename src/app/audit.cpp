#include "app/audit.h"

#include "base/instant.h"
#include "secure/chain.h"
#include "store/audit.h"

namespace lintel::app {
namespace {

using store::Transaction;

constexpr std::size_t kLongestDetail = 200;
constexpr int kRowsAtOnce = 1000;
constexpr std::string_view kRecordSeen = "record_seen";
constexpr std::string_view kListSeen = "list_seen";

view::AuditRow row_of(const Practice& practice, const Caller& caller, const AuditNote& note) {
  view::AuditRow row;
  row.organization = caller.organization;
  row.at = practice.now();
  row.person = caller.person;
  row.session = caller.session;
  row.peer = caller.peer;
  row.action = std::string(note.action);
  row.record = std::string(note.record);
  row.athlete = std::string(note.athlete);
  row.detail = std::string(note.detail);
  return row;
}

// Follows the chain row by row.
class ChainCheck {
 public:
  explicit ChainCheck(const ExpectedHead& expected) : expected_(expected) {
    verdict_.head_hash = secure::chain_start();
  }

  std::int64_t last() const { return verdict_.head_sequence; }
  bool broken() const { return verdict_.first_broken != 0; }

  void take(const view::AuditRow& row) {
    const std::int64_t due = verdict_.head_sequence + 1;
    if (row.sequence != due) {
      return note(due, row.sequence < due ? "a row stands twice" : "rows are missing here");
    }
    if (row.previous_hash != verdict_.head_hash) {
      return note(row.sequence, "the row does not follow on the one before");
    }
    if (store::audit_hash(row) != row.hash) {
      return note(row.sequence, "the row is not what was written");
    }
    if (row.sequence == expected_.sequence && row.hash != expected_.hash) {
      return note(row.sequence, "the row is not the one whose hash was noted down");
    }
    verdict_.head_sequence = row.sequence;
    verdict_.head_hash = row.hash;
    ++verdict_.rows;
  }

  view::ChainVerdict finish(const store::AuditHead& head) {
    if (!broken() && (head.sequence != last() || head.hash != verdict_.head_hash)) {
      note(last() + 1, head.sequence > last() ? "rows are missing at the end"
                                              : "there are rows after the noted end");
    }
    if (!broken() && expected_.sequence > last()) {
      note(last() + 1, "the row whose hash was noted down is missing");
    }
    verdict_.whole = !broken();
    return verdict_;
  }

 private:
  void note(std::int64_t sequence, std::string fault) {
    verdict_.first_broken = sequence;
    verdict_.fault = std::move(fault);
  }

  ExpectedHead expected_;
  view::ChainVerdict verdict_;
};

}  // namespace

Result<void> note_change(Transaction& t, const Practice& practice, const Caller& caller,
                         const AuditNote& note) {
  if (note.detail.size() > kLongestDetail) {
    return fail(ErrorCode::Internal, "the detail of an audit row is too long");
  }
  LINTEL_TRY(store::append_audit(t, row_of(practice, caller, note)));
  return {};
}

namespace {

Result<bool> seen_since(Transaction& t, const Caller& caller, const AuditNote& note,
                        const std::string& since) {
  const std::string_view detail = note.record.empty() ? note.detail : std::string_view();
  for (const std::string_view action : {note.action, kListSeen}) {
    // What a list has shown needs no row of its own; what was done by another name does.
    if (action != note.action && note.action != kRecordSeen) continue;
    if (LINTEL_TRY(store::audited_since(t, caller.session, action, note.record, since, detail))) {
      return true;
    }
  }
  return false;
}

}  // namespace

Result<void> note_seen(Practice& practice, const Caller& caller, const AuditNote& note) {
  const std::string since = instant_after(practice.now(), -static_cast<double>(kSeenAgain_s));
  const bool known = LINTEL_TRY(store::read_value<bool>(
      *practice.database, [&](Transaction& t) { return seen_since(t, caller, note, since); }));
  if (known) return {};
  return practice.database->write(
      [&](Transaction& t) { return note_change(t, practice, caller, note); });
}

Result<view::AuditPage> list_audit(Practice& practice, const Caller& caller,
                                   const AuditQuery& query) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadAudit));
  store::AuditFilter filter;
  filter.organization = caller.organization;
  filter.athlete = query.athlete;
  filter.person = query.person;
  return store::read_value<view::AuditPage>(*practice.database, [&](Transaction& t) {
    return store::list_audit(t, filter, {query.after, query.limit});
  });
}

Result<view::ChainVerdict> verify_audit(Practice& practice, const Caller& caller,
                                        const ExpectedHead& expected) {
  LINTEL_TRY_VOID(require(caller, Permission::ReadAudit));
  // One transaction: a consistent view, however many are writing meanwhile.
  return store::read_value<view::ChainVerdict>(
      *practice.database, [&](Transaction& t) -> Result<view::ChainVerdict> {
        ChainCheck check(expected);
        while (!check.broken()) {
          const auto rows = LINTEL_TRY(store::audit_rows_after(t, check.last(), kRowsAtOnce));
          for (const view::AuditRow& row : rows) {
            check.take(row);
            if (check.broken()) break;
          }
          if (rows.size() < static_cast<std::size_t>(kRowsAtOnce)) break;
        }
        return check.finish(LINTEL_TRY(store::audit_head(t)));
      });
}

}  // namespace lintel::app
