#include <array>

#include "formats/utf8.h"
#include "formats/zip_reader.h"

namespace lintel::formats {
namespace {

constexpr std::size_t kLongestName = 240;  // [bytes]

bool is_well_formed(std::string_view text) {
  while (!text.empty()) {
    const std::size_t length = utf8_length(text);
    if (length == 1 && static_cast<unsigned char>(text[0]) >= 0x80) return false;
    text.remove_prefix(length);
  }
  return true;
}

std::string part_fault(std::string_view part) {
  if (part.empty()) return "has an empty part";
  if (part == "." || part == "..") return "leads out of its folder";
  if (part.back() == '.' || part.back() == ' ') return "has a part that ends with a point or space";
  return {};
}

}  // namespace

std::string zip_name_fault(std::string_view name) {
  if (name.empty()) return "is empty";
  if (name.size() > kLongestName) return "is longer than 240 bytes";
  if (!is_well_formed(name)) return "is not UTF-8";
  for (const char letter : name) {
    const auto byte = static_cast<unsigned char>(letter);
    if (byte < 0x20 || byte == 0x7F) return "has a control character";
  }
  if (name.front() == '/') return "is absolute";
  if (name.find('\\') != std::string_view::npos) return "has a backslash";
  if (name.find(':') != std::string_view::npos) return "has a colon (a drive)";
  while (true) {
    const std::size_t end = name.find('/');
    std::string fault = part_fault(name.substr(0, end));
    if (!fault.empty()) return fault;
    if (end == std::string_view::npos) return {};
    name.remove_prefix(end + 1);
  }
}

}  // namespace lintel::formats
