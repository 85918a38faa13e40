#include "secure/password.h"

#include <gtest/gtest.h>

namespace lintel::secure {
namespace {

// Made with the reference implementation of Argon2 (libargon2 20171227, argon2id_hash_encoded);
// the first is also one of the published tests of that implementation
// (hash 09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7).
constexpr const char* kReference =
    "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc";
constexpr const char* kOurCost =
    "$argon2id$v=19$m=65536,t=3,p=1$AAECAwQFBgcICQoLDA0ODw$"
    "8qnZwsPq6mpmBNbiJMBfJbSq0b7ZoVfD0X406JFiOvI";
constexpr const char* kCheap =
    "$argon2id$v=19$m=8,t=1,p=1$MDEyMzQ1Njc4OWFiY2RlZg$CLJnaT3s3wRQ/kOBMs84ec5Tff5PWykU2t3hhsmvbqo";
constexpr const char* kFourLanes =
    "$argon2id$v=19$m=64,t=1,p=4$MDEyMzQ1Njc4OWFiY2RlZg$"
    "LdZPLqMGPtmzPGGgg/Xu0GeMe2RdbD8nbVJwS61+n+E";

TEST(Passphrase, OfTheReferenceImplementationIsAccepted) {
  EXPECT_TRUE(passphrase_fits(kReference, "password"));
  EXPECT_TRUE(passphrase_fits(kOurCost, "vier Wörter ohne Zusammenhang"));
  EXPECT_TRUE(passphrase_fits(kCheap, "kittiwake ledge oilskin rope"));
  EXPECT_TRUE(passphrase_fits(kFourLanes, "kittiwake ledge oilskin rope"));
}

TEST(Passphrase, ThatIsAnotherOneIsRefused) {
  EXPECT_FALSE(passphrase_fits(kReference, "Password"));
  EXPECT_FALSE(passphrase_fits(kCheap, "kittiwake ledge oilskin rop"));
  EXPECT_FALSE(passphrase_fits(kCheap, "kittiwake ledge oilskin rope "));
  EXPECT_FALSE(passphrase_fits(kCheap, ""));
}

TEST(Passphrase, AgainstADamagedHashIsRefusedAndNothingElseHappens) {
  const std::string good = kCheap;
  for (std::size_t i = 0; i < good.size(); ++i) {
    std::string bad = good;
    bad[i] = bad[i] == 'x' ? 'y' : 'x';
    EXPECT_FALSE(passphrase_fits(bad, "kittiwake ledge oilskin rope")) << i;
  }
  EXPECT_FALSE(passphrase_fits("", ""));
  EXPECT_FALSE(passphrase_fits(std::string(5000, '$'), "x"));
  EXPECT_FALSE(passphrase_fits(good + '\0', "kittiwake ledge oilskin rope"));
}

TEST(Passphrase, IsHashedWithTheStatedParametersAndAFreshSalt) {
  const std::string one = hash_passphrase("oilskin rope ledge").value();
  EXPECT_EQ(one.rfind("$argon2id$v=19$m=65536,t=3,p=1$", 0), 0u) << one;
  EXPECT_TRUE(passphrase_fits(one, "oilskin rope ledge"));
  const std::string a = hash_passphrase("oilskin", kCheapestCost).value();
  const std::string b = hash_passphrase("oilskin", kCheapestCost).value();
  EXPECT_NE(a, b);
}

TEST(Passphrase, IsHashedAnewWhenTheParametersHaveRisen) {
  EXPECT_FALSE(needs_new_hash(kOurCost));
  EXPECT_TRUE(needs_new_hash(kReference));  // one pass less
  EXPECT_TRUE(needs_new_hash(kCheap));
  EXPECT_FALSE(needs_new_hash(kCheap, kCheapestCost));
  EXPECT_TRUE(needs_new_hash("no hash at all"));
}

TEST(Passphrase, LongerThan1024BytesIsAnErrorAndFitsNothing) {
  const std::string longest(1024, 'a');
  const std::string hash = hash_passphrase(longest, kCheapestCost).value();
  EXPECT_TRUE(passphrase_fits(hash, longest));
  EXPECT_FALSE(passphrase_fits(hash, longest + "a"));
  EXPECT_EQ(hash_passphrase(longest + "a", kCheapestCost).error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::secure
