#include "app/text_blocks.h"

#include <algorithm>

#include "base/cautions.h"

namespace lintel::app {

std::string wrapped(const std::string& words, const std::string& first, const std::string& indent) {
  std::string out;
  std::string line = first;
  std::size_t at = 0;
  bool fresh = true;
  while (at < words.size()) {
    const std::size_t end = std::min(words.find(' ', at), words.size());
    const std::string word = words.substr(at, end - at);
    if (!fresh && line.size() + 1 + word.size() > kTerminalWidth) {
      out += line + "\n";
      line = indent;
      fresh = true;
    }
    line += (fresh ? "" : " ") + word;
    fresh = false;
    at = end + 1;
  }
  return out + line + "\n";
}

std::string cautions_block() {
  std::string out = "\n";
  for (const Caution& caution : cautions()) {
    out += wrapped(std::string(caution.text), "! ", "  ");
  }
  return out;
}

}  // namespace lintel::app
