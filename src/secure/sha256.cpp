#include "secure/sha256.h"

#include <array>
#include <fstream>
#include <memory>

#include <openssl/evp.h>

namespace lintel::secure {
namespace {

class Digest {
 public:
  Digest() : context_(EVP_MD_CTX_new(), EVP_MD_CTX_free) {
    LINTEL_CHECK(context_ && EVP_DigestInit_ex(context_.get(), EVP_sha256(), nullptr) == 1);
  }
  void add(const void* data, std::size_t size) {
    LINTEL_CHECK(EVP_DigestUpdate(context_.get(), data, size) == 1);
  }
  std::string hex() {
    std::array<unsigned char, EVP_MAX_MD_SIZE> bytes{};
    unsigned int size = 0;
    LINTEL_CHECK(EVP_DigestFinal_ex(context_.get(), bytes.data(), &size) == 1);
    static constexpr char kDigits[] = "0123456789abcdef";
    std::string out;
    for (unsigned int i = 0; i < size; ++i) {
      out += kDigits[bytes[i] >> 4];
      out += kDigits[bytes[i] & 15];
    }
    return out;
  }

 private:
  std::unique_ptr<EVP_MD_CTX, decltype(&EVP_MD_CTX_free)> context_;
};

}  // namespace

struct Sha256::State {
  Digest digest;
};

Sha256::Sha256() : state_(std::make_unique<State>()) {}
Sha256::Sha256(Sha256&&) noexcept = default;
Sha256& Sha256::operator=(Sha256&&) noexcept = default;
Sha256::~Sha256() = default;

void Sha256::add(std::string_view bytes) {
  state_->digest.add(bytes.data(), bytes.size());
}

std::string Sha256::hex() {
  return state_->digest.hex();
}

std::string sha256_hex(std::span<const std::uint8_t> bytes) {
  Digest digest;
  digest.add(bytes.data(), bytes.size());
  return digest.hex();
}

Result<std::string> sha256_of_file(const std::filesystem::path& file) {
  std::ifstream in(file, std::ios::binary);
  const std::string name = file.filename().string();
  if (!in) {
    return fail(
        Error{ErrorCode::NotFound, "the file cannot be opened", {}, "check its name", {}}.with_file(
            name));
  }
  Digest digest;
  std::array<char, 1 << 16> piece;
  while (in.read(piece.data(), piece.size()) || in.gcount() > 0) {
    digest.add(piece.data(), static_cast<std::size_t>(in.gcount()));
  }
  if (in.bad()) {
    return fail(Error{ErrorCode::Io, "the file cannot be read", {}, {}, {}}.with_file(name));
  }
  return digest.hex();
}

}  // namespace lintel::secure
