// The cautions that every output carries which a person may act on. Their wording lives in
// data/cautions.toml and nowhere else; it is built into the program.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel {

struct Caution {
  std::string_view code;   // stable: "stop", "drop_zone", ...
  std::string_view title;  // one to three words
  std::string_view text;   // one full sentence
  std::string_view brief;  // a few words, for a strip on a picture
};

// In the order in which they are printed. The views stay valid for the life of the program.
std::span<const Caution> cautions();

// All sentences, one a line (each line ends with a line feed).
const std::string& cautions_text();

// The short forms in one line.
const std::string& cautions_brief();

namespace detail {
// Reads the part of TOML that data/cautions.toml uses: comments, [[caution]] tables, keys with
// basic strings without escapes. The views point into `text`. Errors: Invalid with its line.
Result<std::vector<Caution>> parse_cautions(std::string_view text);
}  // namespace detail

}  // namespace lintel
