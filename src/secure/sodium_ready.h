// Internal to secure/: libsodium must be started once before anything of it is used.
#pragma once

#include <sodium.h>

#include "base/result.h"

namespace lintel::secure {

// Thread-safe and cheap after the first time.
inline void sodium_ready() {
  static const bool started = sodium_init() >= 0;
  LINTEL_CHECK(started);
}

}  // namespace lintel::secure
