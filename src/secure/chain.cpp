#include "secure/chain.h"

#include "secure/sha256.h"

namespace lintel::secure {
namespace {

constexpr std::size_t kHashDigits = 64;

void append_field(std::string& text, std::string_view field) {
  text += std::to_string(field.size());
  text += ':';
  text += field;
  text += ',';
}

}  // namespace

std::string chain_start() {
  return std::string(kHashDigits, '0');
}

std::string chain_hash(std::string_view previous, std::span<const std::string_view> fields) {
  std::string text;
  append_field(text, previous);
  for (const std::string_view field : fields) append_field(text, field);
  return sha256_hex({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

}  // namespace lintel::secure
