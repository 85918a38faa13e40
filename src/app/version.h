#pragma once

#include <string_view>

namespace lintel::app {
std::string_view version();  // "0.1.0"
}  // namespace lintel::app
