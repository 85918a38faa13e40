// Members that a client may leave out of a document: put in before it is read.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace lintel::formats {

// Name and JSON text of the value.
using JsonDefault = std::pair<std::string, std::string>;

// The text with those members that the object lacks put in at its beginning, on the same line, so
// that lines stay what they are. `object` names a member of the root ("athlete"); empty = the root;
// "overrulings[]" = every object of that list. Text that is not such a document comes back as it
// was: its reader says what is wrong.
std::string with_defaults(std::string_view json, std::string_view object,
                          const std::vector<JsonDefault>& defaults);

// The text as a JSON string, quotes included.
std::string json_text_of(std::string_view text);

}  // namespace lintel::formats
