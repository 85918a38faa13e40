#include "report/text_safety.h"

#include <glib.h>

namespace lintel::report {
namespace {
constexpr std::size_t kLongest = 4000;

bool two_digits_between(std::string_view text, int low, int high) {
  if (text[0] < '0' || text[0] > '9' || text[1] < '0' || text[1] > '9') return false;
  const int value = (text[0] - '0') * 10 + (text[1] - '0');
  return value >= low && value <= high;
}
}  // namespace

std::string printable_text(std::string_view text, LineFeeds line_feeds) {
  std::size_t length = text.size();
  if (length > kLongest) {
    length = kLongest;
    while (length > 0 && (static_cast<unsigned char>(text[length]) & 0xC0U) == 0x80U) --length;
  }
  gchar* valid = g_utf8_make_valid(text.data(), static_cast<gssize>(length));
  std::string result;
  const char* next = nullptr;
  for (const char* p = valid; *p != '\0'; p = next) {
    next = g_utf8_find_next_char(p, nullptr);
    const gunichar character = g_utf8_get_char(p);
    const bool keeps_line = character == '\n' && line_feeds == LineFeeds::Keep;
    if (!keeps_line && g_unichar_iscntrl(character) != 0) {
      result += ' ';
    } else {
      result.append(p, static_cast<std::size_t>(next - p));
    }
  }
  g_free(valid);
  return result;
}

std::string escape_xml(std::string_view text) {
  std::string result;
  for (const char c : printable_text(text, LineFeeds::Keep)) {
    switch (c) {
      case '&':
        result += "&amp;";
        break;
      case '<':
        result += "&lt;";
        break;
      case '>':
        result += "&gt;";
        break;
      case '"':
        result += "&quot;";
        break;
      default:
        result += c;
    }
  }
  return result;
}

bool is_iso_date(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  return two_digits_between(text.substr(0, 2), 0, 99) &&
         two_digits_between(text.substr(2, 2), 0, 99) &&
         two_digits_between(text.substr(5, 2), 1, 12) &&
         two_digits_between(text.substr(8, 2), 1, 31);
}

}  // namespace lintel::report
