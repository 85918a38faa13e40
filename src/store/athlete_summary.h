// Inside of store/: what the caseload shows of an athlete, kept beside the name and brought up to
// date in the transaction that changes any record of the athlete.
#pragma once

#include <string>
#include <string_view>

#include "store/records.h"
#include "store/sql.h"

namespace lintel::store {

inline constexpr int kDaysWithoutSession = 14;  // then a plan that runs has stalled
inline constexpr int kDaysWithoutVisit = 42;
inline constexpr int kDaysNew = 14;

// The first day on which nobody has seen or heard of the athlete for too long. `plan_since` is the
// day of the newest plan that runs; empty texts are days that never were.
std::string stalled_from(std::string_view taken_in, std::string_view last_visit,
                         std::string_view plan_since, std::string_view last_session);

// The athlete's own columns, of a new version. Tags replace those before.
Result<void> write_athlete_row(Transaction& t, const Record& record, const AthleteRow& row);
// State, version and time of change after an athlete's record changed.
Result<void> note_athlete_version(Transaction& t, const Record& record);
// The columns that follow from the athlete's other records.
Result<void> refresh_athlete(Transaction& t, const std::string& athlete);
// Out of the counts and the words, before the record is deleted.
Result<void> forget_athlete(Transaction& t, const Record& record);

}  // namespace lintel::store
