// The date here and now, and the moment in UTC, as ISO 8601; the only clock that results see.
#pragma once

#include <string>

namespace lintel::cli {
std::string today();
std::string now_utc();  // "2026-11-25T19:43:05Z"
}  // namespace lintel::cli
