// Sentences with numbers in them.
#pragma once

#include <algorithm>
#include <cstdio>
#include <string>
#include <string_view>
#include <utility>

namespace lintel {

// "-0" and "-0.0" are no numbers for people: without their sign, with "+" where the format asks for
// signs. Dates and words with a hyphen stay.
inline std::string without_minus_zero(std::string text, bool signs) {
  constexpr std::string_view kDigits = "0123456789";
  constexpr std::string_view kWord =
      "0123456789abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ_-.";
  for (std::size_t at = text.find("-0"); at != std::string::npos; at = text.find("-0", at + 1)) {
    if (at > 0 && kWord.find(text[at - 1]) != std::string_view::npos) continue;
    std::size_t end = at + 2;
    if (end + 1 < text.size() && text[end] == '.' && text[end + 1] == '0') {
      end = std::min(text.find_first_not_of('0', end + 1), text.size());
    }
    if (end < text.size() && kDigits.find(text[end]) != std::string_view::npos) continue;
    if (end + 1 < text.size() && text[end] == '.' &&
        kDigits.find(text[end + 1]) != std::string_view::npos) {
      continue;
    }
    if (signs) {
      text[at] = '+';
    } else {
      text.erase(at, 1);
    }
  }
  return text;
}

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
inline std::string degrees_in_words(double degrees) {
  return degrees < 0.45 ? "under half a degree" : text("%.1f degrees", degrees);
}

}  // namespace lintel
