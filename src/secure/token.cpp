#include "secure/token.h"

#include <array>

#include "secure/random.h"
#include "secure/sha256.h"
#include "secure/sodium_ready.h"

namespace lintel::secure {
namespace {

constexpr std::size_t kSecretBytes = 32;

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

}  // namespace

std::string new_secret(std::string_view prefix) {
  std::string secret(prefix);
  if (!prefix.empty()) secret += '_';
  return secret + random_token(kSecretBytes);
}

std::string secret_digest(std::string_view secret) {
  return sha256_hex({bytes_of(secret), secret.size()});
}

std::string derived_secret(std::string_view secret, std::string_view purpose) {
  sodium_ready();
  // The key of BLAKE2b has at most 64 bytes; a digest of the secret always fits.
  std::array<unsigned char, crypto_generichash_KEYBYTES> key{};
  crypto_generichash(key.data(), key.size(), bytes_of(secret), secret.size(), nullptr, 0);
  std::array<std::uint8_t, kSecretBytes> out{};
  crypto_generichash(out.data(), out.size(), bytes_of(purpose), purpose.size(), key.data(),
                     key.size());
  return base64url(out);
}

bool same_secret(std::string_view one, std::string_view other) {
  sodium_ready();
  return one.size() == other.size() && sodium_memcmp(one.data(), other.data(), one.size()) == 0;
}

}  // namespace lintel::secure
