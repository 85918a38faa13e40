#include "secure/sha256.h"

#include <gtest/gtest.h>

#include <fstream>
#include <string>

namespace lintel::secure {
namespace {

std::string sha_of(const std::string& text) {
  return sha256_hex({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()});
}

// Secure Hash Standard, FIPS 180-4, with NIST's example values (SHA256.pdf, one and two blocks)
// and the values for the empty text and a million letters a of the validation programme.
TEST(Sha256, GivesThePublishedDigests) {
  EXPECT_EQ(sha_of(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha_of("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  EXPECT_EQ(sha_of(std::string(1'000'000, 'a')),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Sha256, OfAFileEqualsThatOfItsBytes) {
  const std::filesystem::path file = std::filesystem::path(::testing::TempDir()) / "sha256_file";
  std::ofstream(file, std::ios::binary) << std::string(1'000'000, 'a');
  EXPECT_EQ(sha256_of_file(file).value(),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  std::filesystem::remove(file);
  EXPECT_EQ(sha256_of_file(file).error().code, ErrorCode::NotFound);
}

}  // namespace
}  // namespace lintel::secure
