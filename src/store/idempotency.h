// Keys of requests that count once, with the answer of the first.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.h"
#include "store/database.h"

namespace lintel::store {

struct OnceState {
  bool fresh = false;   // this call made it
  std::string content;  // digest of the first request
  std::string answer;   // empty = the first call has not ended
};

// Makes the key unless it is there. Keys made before `oldest` (ISO 8601) are removed first.
Result<OnceState> begin_once(Transaction& t, std::string_view key, std::string_view organization,
                             std::string_view content, std::string_view now,
                             std::string_view oldest);
Result<void> finish_once(Transaction& t, std::string_view key, std::string_view answer);
Result<void> forget_once(Transaction& t, std::string_view key);
// All answers kept for an organization, for an erasure: they may hold what is to be erased.
Result<void> forget_once_of(Transaction& t, std::string_view organization);

}  // namespace lintel::store
