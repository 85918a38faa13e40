#include "secure/random.h"

#include <vector>

#include <sodium.h>

#include "secure/sodium_ready.h"

namespace lintel::secure {

void fill_random(std::span<std::uint8_t> bytes) {
  sodium_ready();
  randombytes_buf(bytes.data(), bytes.size());
}

Uuid random_uuid() {
  Uuid uuid{};
  fill_random(uuid);
  uuid[6] = static_cast<std::uint8_t>((uuid[6] & 0x0F) | 0x40);  // version 4
  uuid[8] = static_cast<std::uint8_t>((uuid[8] & 0x3F) | 0x80);  // variant of the RFC
  return uuid;
}

std::string random_id() {
  return to_string(random_uuid());
}

std::string random_token(std::size_t bytes) {
  std::vector<std::uint8_t> secret(bytes);
  fill_random(secret);
  std::string token = base64url(secret);
  sodium_memzero(secret.data(), secret.size());
  return token;
}

std::string base64url(std::span<const std::uint8_t> bytes) {
  constexpr int kVariant = sodium_base64_VARIANT_URLSAFE_NO_PADDING;
  std::string text(sodium_base64_encoded_len(bytes.size(), kVariant), '\0');
  sodium_bin2base64(text.data(), text.size(), bytes.data(), bytes.size(), kVariant);
  text.pop_back();  // the closing zero of a C string
  return text;
}

Result<std::string> from_base64url(std::string_view text) {
  std::string bytes(text.size(), '\0');
  std::size_t size = 0;
  const char* end = nullptr;
  const int status = sodium_base642bin(reinterpret_cast<unsigned char*>(bytes.data()), bytes.size(),
                                       text.data(), text.size(), nullptr, &size, &end,
                                       sodium_base64_VARIANT_URLSAFE_NO_PADDING);
  if (status != 0 || end != text.data() + text.size()) {
    return fail(ErrorCode::Invalid, "this is not base64url without padding");
  }
  bytes.resize(size);
  return bytes;
}

}  // namespace lintel::secure
