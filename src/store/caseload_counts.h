// Inside of store/: how many athletes each view of the caseload holds, kept by day, so that a count
// is a sum over days instead of over athletes.
#pragma once

#include <string>
#include <string_view>

#include "store/sql.h"

namespace lintel::store {

// Where one athlete is counted, one "view day" a line: "active" and "archived" without a day, "new"
// by the day of taking in, "due" by the next due day, "stalled" by stalled_from.
std::string counted_in(std::string_view state, std::string_view taken_in, std::string_view next_due,
                       std::string_view stalled_from);

// Takes the athlete out of the counts of `before` and into those of `now`.
Result<void> recount(Transaction& t, const std::string& organization, std::string_view before,
                     std::string_view now);

struct CaseloadCounts {
  std::int64_t active = 0, archived = 0, due = 0, stalled = 0, taken_in = 0;
};
// Due and stalled on or before `today`; taken in on or after `new_since`.
Result<CaseloadCounts> read_counts(Transaction& t, const std::string& organization,
                                   const std::string& today, const std::string& new_since);

}  // namespace lintel::store
