// A file of data/ that is built into the program (cmake/embed.cmake).
#pragma once

#include <string_view>

namespace lintel {

struct EmbeddedFile {
  std::string_view name;         // path from the project's folder: "data/protocols/x.json"
  const std::string_view* text;  // its bytes; a pointer, for those are set up at program start
};

}  // namespace lintel
