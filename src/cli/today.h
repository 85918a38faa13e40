// The date here and now, as ISO 8601; the only clock that results see.
#pragma once

#include <string>

namespace lintel::cli {
std::string today();
}  // namespace lintel::cli
