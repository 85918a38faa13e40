#include "formats/utf8.h"

namespace lintel::formats {
namespace {

unsigned char byte_at(std::string_view text, std::size_t i) {
  return static_cast<unsigned char>(text[i]);
}

// 0 when the bytes at the start are no well-formed character. The second byte has a narrower range
// after E0, ED, F0 and F4: no overlong forms, no surrogates, nothing beyond U+10FFFF.
std::size_t well_formed(std::string_view text) {
  const unsigned char first = byte_at(text, 0);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                             : first >= 0xE0 && first <= 0xEF ? 3
                             : first >= 0xF0 && first <= 0xF4 ? 4
                                                              : 0;
  if (length == 0 || text.size() < length) return 0;
  const unsigned char lowest = first == 0xE0 ? 0xA0 : first == 0xF0 ? 0x90 : 0x80;
  const unsigned char highest = first == 0xED ? 0x9F : first == 0xF4 ? 0x8F : 0xBF;
  if (byte_at(text, 1) < lowest || byte_at(text, 1) > highest) return 0;
  for (std::size_t i = 2; i < length; ++i) {
    if ((byte_at(text, i) & 0xC0) != 0x80) return 0;
  }
  return length;
}

}  // namespace

std::size_t utf8_length(std::string_view text) {
  const std::size_t length = well_formed(text);
  return length == 0 ? 1 : length;
}

std::string valid_utf8(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const std::size_t length = well_formed(text);
    if (length == 0) {
      out += "\xEF\xBF\xBD";
    } else {
      out.append(text.substr(0, length));
    }
    text.remove_prefix(length == 0 ? 1 : length);
  }
  return out;
}

}  // namespace lintel::formats
