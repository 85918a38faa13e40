#include "secure/random.h"

#include <gtest/gtest.h>

#include <array>
#include <set>

namespace lintel::secure {
namespace {

std::span<const std::uint8_t> bytes_of(const std::string& text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

// RFC 9562, section 5.4: version in the high half of octet 6, variant 10 in octet 8.
TEST(RandomUuid, CarriesVersionAndVariantOfRfc9562) {
  for (int i = 0; i < 200; ++i) {
    const Uuid uuid = random_uuid();
    EXPECT_EQ(uuid[6] >> 4, 4);
    EXPECT_EQ(uuid[8] >> 6, 2);
  }
  const std::string text = random_id();
  ASSERT_EQ(text.size(), 36u);
  EXPECT_EQ(text[14], '4');
  EXPECT_NE(std::string("89ab").find(text[19]), std::string::npos);
}

// Each of the 122 free bits is seen with both values: with 200 draws a healthy bit stays the same
// with probability 2^-199.
TEST(RandomUuid, MovesEveryFreeBit) {
  Uuid ones{}, zeros{};
  for (int i = 0; i < 200; ++i) {
    const Uuid uuid = random_uuid();
    for (std::size_t k = 0; k < uuid.size(); ++k) {
      ones[k] = static_cast<std::uint8_t>(ones[k] | uuid[k]);
      zeros[k] = static_cast<std::uint8_t>(zeros[k] | ~uuid[k]);
    }
  }
  for (std::size_t k = 0; k < ones.size(); ++k) {
    const int fixed = k == 6 ? 0xF0 : k == 8 ? 0xC0 : 0;
    EXPECT_EQ(ones[k] | fixed, 0xFF) << k;
    EXPECT_EQ(zeros[k] | fixed, 0xFF) << k;
  }
}

TEST(RandomToken, Has43LettersOfTheUrlAlphabetAndNoTwin) {
  std::set<std::string> seen;
  for (int i = 0; i < 500; ++i) {
    const std::string token = random_token();
    EXPECT_EQ(token.size(), 43u);
    EXPECT_EQ(
        token.find_first_not_of("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
                                "-_"),
        std::string::npos);
    EXPECT_TRUE(seen.insert(token).second);
    EXPECT_EQ(from_base64url(token).value().size(), 32u);
  }
}

// RFC 4648, section 10, without its padding, and two bytes that differ between the alphabets.
TEST(Base64Url, IsThatOfRfc4648) {
  const std::array<std::pair<std::string, std::string>, 7> kVectors = {{{"", ""},
                                                                        {"f", "Zg"},
                                                                        {"fo", "Zm8"},
                                                                        {"foo", "Zm9v"},
                                                                        {"foob", "Zm9vYg"},
                                                                        {"fooba", "Zm9vYmE"},
                                                                        {"foobar", "Zm9vYmFy"}}};
  for (const auto& [plain, coded] : kVectors) {
    EXPECT_EQ(base64url(bytes_of(plain)), coded);
    EXPECT_EQ(from_base64url(coded).value(), plain);
  }
  EXPECT_EQ(base64url(bytes_of("\xfb\xff")), "-_8");
}

TEST(Base64Url, RefusesPaddingOtherLettersAndImpossibleLengths) {
  for (const char* text : {"Zg==", "Zm+v", "Zm/v", "Z", "Zm9v Zg", "Zm9v\n"}) {
    EXPECT_FALSE(from_base64url(text)) << text;
  }
}

}  // namespace
}  // namespace lintel::secure
