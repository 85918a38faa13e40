// Sentences with numbers in them.
#pragma once

#include <cstdio>
#include <string>

namespace lintel {

// printf formatting to a string, of any length. The format is a literal of ours, never user input.
template <typename... Args>
std::string text(const char* format, Args... args) {
  const int length = std::snprintf(nullptr, 0, format, args...);
  std::string out(static_cast<std::size_t>(length > 0 ? length : 0), '\0');
  std::snprintf(out.data(), out.size() + 1, format, args...);
  return out;
}

}  // namespace lintel
