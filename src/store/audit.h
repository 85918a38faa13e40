// The audit trail as rows that are only ever added; the database itself refuses to change or remove
// them. Each row carries the hash of the row before (secure/chain.h).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"
#include "store/records.h"  // Page
#include "view/account.h"

namespace lintel::store {

// The fields of a row that its hash covers are, in this order: "lintel-audit-1", sequence,
// organization, at, person, session, peer, action, record, athlete, detail.
std::string audit_hash(const view::AuditRow& row);

// Adds a row; sequence and hashes of `row` are filled in here. On PostgreSQL other writers wait for
// the end of this transaction: call it last. Errors: Io.
Result<view::AuditRow> append_audit(Transaction& t, view::AuditRow row);

// Did this session do this to this record at or after that time? With this detail, unless it is
// empty.
Result<bool> audited_since(Transaction& t, std::string_view session, std::string_view action,
                           std::string_view record, std::string_view since,
                           std::string_view detail = {});

struct AuditFilter {
  std::string organization;
  std::string athlete, person, record, action;  // empty = any
};
// The newest first. Errors: Invalid for a cursor that is none.
Result<view::AuditPage> list_audit(Transaction& t, const AuditFilter& filter, const Page& page);

// The last row's sequence and hash as they were noted beside the trail; 0 and chain_start() before
// the first.
struct AuditHead {
  std::int64_t sequence = 0;
  std::string hash;
};
Result<AuditHead> audit_head(Transaction& t);
// At most `limit` rows with a sequence above this one, in their order, of all organizations.
Result<std::vector<view::AuditRow>> audit_rows_after(Transaction& t, std::int64_t sequence,
                                                     int limit);

}  // namespace lintel::store
