// The erasure of one athlete on request.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "app/access.h"
#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "view/safekeeping.h"

namespace lintel::app {

inline constexpr std::size_t kLongestReason = 150;  // [bytes]; it stands in the audit trail

// Takes out all records with all versions, the account, jobs, uploads, and media that nobody else
// has; what was deleted is overwritten in the database file. The answer says what stays. The reason
// goes into the audit trail and must not name the athlete.
// Errors: Denied; NotFound; Invalid (field "reason").
Result<view::ErasureSummary> erase_athlete(Practice& practice, const Caller& caller,
                                           std::string_view athlete, std::string_view reason);

// Removes media that nothing refers to, and what a cut-off import or restore left in the data
// folder, once they are older than a day. Answers how many media and bytes. Errors: Io.
struct Collected {
  std::int64_t files = 0, bytes = 0;
};
Result<Collected> collect_media_garbage(Practice& practice);

// Database, records and media: integrity as the engine checks it, every document and every file
// against its digest, every reference. Errors: Invalid with the first fault; Io.
struct CheckSummary {
  std::int64_t media_files = 0, media_bytes = 0;
  std::vector<std::string> missing_media;  // that records refer to
  std::vector<std::string> damaged_media;
};
Result<CheckSummary> check_everything(Practice& practice, const WorkContext& work = {});

}  // namespace lintel::app
