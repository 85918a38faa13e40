#include "secure/uuid.h"

#include <algorithm>
#include <memory>

#include <openssl/evp.h>

#include "base/result.h"

namespace lintel::secure {

Uuid named_uuid(const Uuid& name_space, std::string_view name) {
  const std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context(EVP_MD_CTX_new(),
                                                                        EVP_MD_CTX_free);
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
  LINTEL_CHECK(context && EVP_DigestInit_ex(context.get(), EVP_sha1(), nullptr) == 1);
  LINTEL_CHECK(EVP_DigestUpdate(context.get(), name_space.data(), name_space.size()) == 1);
  LINTEL_CHECK(EVP_DigestUpdate(context.get(), name.data(), name.size()) == 1);
  LINTEL_CHECK(EVP_DigestFinal_ex(context.get(), digest.data(), nullptr) == 1);
  Uuid uuid{};
  std::copy_n(digest.begin(), uuid.size(), uuid.begin());
  uuid[6] = static_cast<std::uint8_t>((uuid[6] & 0x0F) | 0x50);  // version 5
  uuid[8] = static_cast<std::uint8_t>((uuid[8] & 0x3F) | 0x80);  // variant of the RFC
  return uuid;
}

std::string to_string(const Uuid& uuid) {
  static constexpr char kDigits[] = "0123456789abcdef";
  std::string out;
  for (std::size_t i = 0; i < uuid.size(); ++i) {
    if (i == 4 || i == 6 || i == 8 || i == 10) out += '-';
    out += kDigits[uuid[i] >> 4];
    out += kDigits[uuid[i] & 15];
  }
  return out;
}

}  // namespace lintel::secure
