// The audit trail: who saw and who changed what. A use case that changes a record calls note_change
// inside its transaction (no change without its row, no row without the change); one that shows a
// record calls note_seen before it answers.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"
#include "view/account.h"

namespace lintel::app {

// Ids and words of ours only: no name, no free text. The row outlives the athlete's records.
struct AuditNote {
  std::string_view action;       // "record_created", "record_changed", "export_made", ...
  std::string_view record = {};  // id
  std::string_view athlete = {};
  std::string_view detail = {};  // "version 3", "kind visit"; at most 200 bytes
};

// Within the transaction of the change. Errors: Io, Internal (a detail that is too long).
Result<void> note_change(store::Transaction& t, const Practice& practice, const Caller& caller,
                         const AuditNote& note);

// The same caller (session) seeing the same record again within this time is not written again, by
// itself or in a list; without a record, the same detail.
inline constexpr std::int64_t kSeenAgain_s = 15 * 60;
// In a transaction of its own; call it outside of Database::read and write. Errors: Io.
Result<void> note_seen(Practice& practice, const Caller& caller, const AuditNote& note);

// Rows of the caller's organization, the newest first; `after` is the cursor of the page before.
// Errors: Denied (permission ReadAudit), Invalid (cursor, limit outside 1 to 500).
struct AuditQuery {
  std::string after;
  int limit = 50;
  std::string athlete, person;  // empty = any
};
Result<view::AuditPage> list_audit(Practice& practice, const Caller& caller,
                                   const AuditQuery& query);

// Reads the whole chain of the database. With `expected_sequence` > 0 that row must be there with
// `expected_hash` (noted down earlier). Errors: Denied, Io; a broken chain is a verdict, no error.
struct ExpectedHead {
  std::int64_t sequence = 0;
  std::string hash;
};
Result<view::ChainVerdict> verify_audit(Practice& practice, const Caller& caller,
                                        const ExpectedHead& expected = {});

}  // namespace lintel::app
