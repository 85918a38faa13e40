// Inside of store/: the columns beside the documents, and the row of a record itself.
#pragma once

#include <string>

#include "store/records.h"
#include "store/sql.h"

namespace lintel::store {

// Columns of `records r JOIN record_versions v`, in the order in which RecordOut takes them.
inline constexpr const char* kRecordColumns =
    "r.id, r.kind, r.organization, COALESCE(r.athlete, ''), COALESCE(r.parent, ''), v.version,"
    " v.state, r.created_at, r.created_by, v.changed_at, v.changed_by, v.reason, v.document,"
    " v.sha256";

// Where the columns of one row arrive.
class RecordOut {
 public:
  // Adds the `into` of every column to a statement that is being prepared.
  void into(soci::details::prepare_temp_type& statement);
  Record record() const;  // LINTEL_CHECK: kind and state are names that this program wrote
 private:
  Record row_;
  std::string kind_, state_;
};

// The columns of a version; those of the version before are taken out. Errors: Invalid for a day
// that is no ISO 8601 day.
Result<void> check_index(const IndexRows& index);
Result<void> write_index(Transaction& t, const Record& record, const IndexRows& index);

}  // namespace lintel::store
