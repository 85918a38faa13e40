// Sentences with numbers in them.
#pragma once

#include <cstdio>
#include <string>
#include <string_view>
#include <utility>

namespace lintel {

// "-0" and "-0.0" are no numbers for people: without their sign, with "+" where the format asks for
// signs. Dates and words with a hyphen stay.
std::string without_minus_zero(std::string text, bool signs);

// printf formatting to a string, of any length. The format is a literal of ours, never user input.
// A negative number that rounds to zero has no sign.
template <typename... Args>
std::string text(const char* format, Args... args) {
  const int length = std::snprintf(nullptr, 0, format, args...);
  std::string out(static_cast<std::size_t>(length > 0 ? length : 0), '\0');
  std::snprintf(out.data(), out.size() + 1, format, args...);
  return without_minus_zero(std::move(out),
                            std::string_view(format).find("%+") != std::string_view::npos);
}

// "2.1 degrees"; "under half a degree" where that says more than a number would.
std::string degrees_in_words(double degrees);
// "about 2.1 degrees"; "under half a degree".
std::string about_degrees(double degrees);

}  // namespace lintel
