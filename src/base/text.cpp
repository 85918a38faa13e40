#include "base/text.h"

#include <algorithm>

namespace lintel {
namespace {

constexpr double kFewDegrees = 0.45;

}  // namespace

std::string without_minus_zero(std::string text, bool signs) {
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

std::string degrees_in_words(double degrees) {
  return degrees < kFewDegrees ? "under half a degree" : text("%.1f degrees", degrees);
}

std::string about_degrees(double degrees) {
  return (degrees < kFewDegrees ? "" : "about ") + degrees_in_words(degrees);
}

}  // namespace lintel
