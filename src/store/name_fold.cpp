#include "store/name_fold.h"

#include <cctype>
#include <unordered_map>

namespace lintel::embedded {
extern const std::string_view name_folding_txt;  // data/names/folding.txt
}

namespace lintel::store {
namespace {

// Bytes of the character that begins with this byte, as the byte says; 1 for one that begins none.
std::size_t length_by_first_byte(char first) {
  const auto byte = static_cast<unsigned char>(first);
  if (byte >= 0xF0 && byte < 0xF8) return 4;
  if (byte >= 0xE0 && byte < 0xF0) return 3;
  if (byte >= 0xC2 && byte < 0xE0) return 2;
  return 1;
}

using Folding = std::unordered_map<std::string_view, std::string_view>;

Folding read_folding() {
  Folding out;
  std::string_view text = embedded::name_folding_txt;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const std::size_t space = line.find(' ');
    if (line.starts_with('#') || space == std::string_view::npos) continue;
    for (std::string_view letters = line.substr(space + 1); !letters.empty();) {
      const std::size_t length = std::min(length_by_first_byte(letters.front()), letters.size());
      out.emplace(letters.substr(0, length), line.substr(0, space));
      letters.remove_prefix(length);
    }
  }
  return out;
}

bool combining_mark(std::string_view letter) {  // U+0300 to U+036F
  if (letter.size() != 2) return false;
  const auto first = static_cast<unsigned char>(letter[0]);
  const auto second = static_cast<unsigned char>(letter[1]);
  return first == 0xCC || (first == 0xCD && second <= 0xAF);
}

void fold_ascii(char c, std::string& out) {
  if (std::isalnum(static_cast<unsigned char>(c))) {
    out += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  } else if (c != '\'' && !out.empty() && out.back() != ' ') {
    out += ' ';
  }
}

}  // namespace

std::string fold_name(std::string_view name) {
  static const Folding folding = read_folding();
  std::string out;
  while (!name.empty()) {
    const std::size_t length = std::min(length_by_first_byte(name.front()), name.size());
    const std::string_view letter = name.substr(0, length);
    name.remove_prefix(length);
    const auto folded = folding.find(letter);
    if (folded != folding.end()) {
      out += folded->second;
    } else if (static_cast<unsigned char>(letter.front()) < 0x80) {
      fold_ascii(letter.front(), out);
    } else if (!combining_mark(letter) && letter != "\xE2\x80\x99") {  // nor the curly apostrophe
      out += letter;
    }
  }
  while (out.ends_with(' ')) out.pop_back();
  return out;
}

std::vector<std::string> search_parts(std::string_view search) {
  std::vector<std::string> out;
  const std::string folded = fold_name(search);
  for (std::size_t from = 0; from < folded.size();) {
    const std::size_t end = std::min(folded.find(' ', from), folded.size());
    if (end > from) out.push_back(folded.substr(from, end - from));
    from = end + 1;
  }
  return out;
}

}  // namespace lintel::store
