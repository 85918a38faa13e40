// Requests that may arrive twice and must count once: the answer of the first is kept for a day
// under the key that the sender chose.
#pragma once

#include <optional>
#include <string>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"

namespace lintel::app {

struct OnceKey {
  std::string key;      // as the sender chose it
  std::string path;     // "POST /api/v1/athletes"
  std::string content;  // query and body: the same key with another content is refused
};

// The answer kept earlier (a day at most), or nothing when this is the first call; then finish_once
// must follow. Keys of other people and organizations are other keys. Errors: Conflict while the
// first call runs (or was cut off: its end is not known), Invalid for another content, Io.
Result<std::optional<std::string>> begin_once(Practice& practice, const Caller& caller,
                                              const OnceKey& key);
// An empty answer forgets the key, so that it may be tried again.
Result<void> finish_once(Practice& practice, const Caller& caller, const OnceKey& key,
                         const std::string& answer);

}  // namespace lintel::app
