#include "secure/token.h"

#include <gtest/gtest.h>

namespace lintel::secure {
namespace {

TEST(Secret, IsA256BitTokenBehindItsPrefix) {
  const std::string secret = new_secret("lnt");
  EXPECT_EQ(secret.rfind("lnt_", 0), 0u);
  EXPECT_EQ(secret.size(), 4u + 43u);
  EXPECT_EQ(new_secret().size(), 43u);
  EXPECT_NE(new_secret(), new_secret());
}

// SHA-256 of "abc": FIPS 180-4 example.
TEST(Secret, IsKeptAsItsSha256) {
  EXPECT_EQ(secret_digest("abc"),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}

// Computed with Python's hashlib: blake2b(purpose, digest_size=32, key=blake2b(secret,
// digest_size=32)), as base64url.
TEST(DerivedSecret, IsKeyedBlake2b) {
  EXPECT_EQ(derived_secret("secret", "purpose"), "Yc1W8SUpariGZEsiQmLcy71ixhYQo94GAvK9IjJ2SHQ");
  EXPECT_NE(derived_secret("secret", "other"), derived_secret("secret", "purpose"));
  EXPECT_NE(derived_secret("other", "purpose"), derived_secret("secret", "purpose"));
}

TEST(SameSecret, ComparesAllOfIt) {
  EXPECT_TRUE(same_secret("abc", "abc"));
  EXPECT_TRUE(same_secret("", ""));
  EXPECT_FALSE(same_secret("abc", "abd"));
  EXPECT_FALSE(same_secret("xbc", "abc"));
  EXPECT_FALSE(same_secret("abc", "ab"));
  EXPECT_FALSE(same_secret("abc", ""));
}

}  // namespace
}  // namespace lintel::secure
