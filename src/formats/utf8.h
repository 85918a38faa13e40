// UTF-8 for writers whose format has no place for broken text. Inside this module.
#pragma once

#include <string>
#include <string_view>

namespace lintel::formats {

// Bytes of the well-formed character at the start (Unicode 15, table 3-7), 1 to 4; 1 as well for a
// byte that begins none. `text` not empty.
std::size_t utf8_length(std::string_view text);

// The same text with U+FFFD in place of every byte that belongs to no well-formed character.
std::string valid_utf8(std::string_view text);

}  // namespace lintel::formats
