// What stands beside a record's document, read back: for exports, which must hold all of it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/records.h"

namespace lintel::store {

// What was given with the newest version, rows in a fixed order.
Result<IndexRows> columns_of_record(Transaction& t, std::string_view record);

struct RecordMedia {
  std::string sha256, media_type;
  std::int64_t bytes = 0;
};
// By digest.
Result<std::vector<RecordMedia>> media_of_record(Transaction& t, std::string_view record);

// Is there a record with this id, of whatever organization?
Result<bool> id_is_taken(Transaction& t, std::string_view id);

}  // namespace lintel::store
