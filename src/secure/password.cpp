#include "secure/password.h"

#include <array>
#include <cstring>

#include "secure/passphrase.h"
#include "secure/sodium_ready.h"

namespace lintel::secure {
namespace {

constexpr std::size_t kKibibyte = 1024;

// libsodium reads a fixed-size text that ends with zeros.
using HashText = std::array<char, crypto_pwhash_STRBYTES>;

bool copy_hash(std::string_view hash, HashText& out) {
  if (hash.size() >= out.size() || hash.find('\0') != std::string_view::npos) return false;
  out.fill('\0');
  std::memcpy(out.data(), hash.data(), hash.size());
  return true;
}

}  // namespace

Result<std::string> hash_passphrase(std::string_view passphrase, const PassphraseCost& cost) {
  sodium_ready();
  if (passphrase.size() > Passphrase::kLongest) {
    return fail(ErrorCode::Invalid, "the passphrase is longer than 1024 bytes",
                "choose a shorter one");
  }
  HashText text{};
  if (crypto_pwhash_str_alg(text.data(), passphrase.data(), passphrase.size(), cost.passes,
                            cost.memory_kib * kKibibyte, crypto_pwhash_ALG_ARGON2ID13) != 0) {
    return fail(ErrorCode::Limit, "there is not enough memory to check a passphrase just now",
                "try again in a moment");
  }
  return std::string(text.data());
}

bool passphrase_fits(std::string_view hash, std::string_view passphrase) {
  sodium_ready();
  HashText text{};
  if (passphrase.size() > Passphrase::kLongest || !copy_hash(hash, text)) return false;
  return crypto_pwhash_str_verify(text.data(), passphrase.data(), passphrase.size()) == 0;
}

bool needs_new_hash(std::string_view hash, const PassphraseCost& cost) {
  sodium_ready();
  HashText text{};
  if (!copy_hash(hash, text)) return true;
  return crypto_pwhash_str_needs_rehash(text.data(), cost.passes, cost.memory_kib * kKibibyte) != 0;
}

}  // namespace lintel::secure
