#include "secure/uuid.h"

#include <gtest/gtest.h>

namespace lintel::secure {
namespace {

// RFC 9562, appendix A.4: version 5 of "www.example.com" in the namespace of DNS names
// (6ba7b810-9dad-11d1-80b4-00c04fd430c8, section 6.6).
TEST(Uuid, OfANameIsThatOfRfc9562AppendixA4) {
  constexpr Uuid kDns = {0x6b, 0xa7, 0xb8, 0x10, 0x9d, 0xad, 0x11, 0xd1,
                         0x80, 0xb4, 0x00, 0xc0, 0x4f, 0xd4, 0x30, 0xc8};
  EXPECT_EQ(to_string(kDns), "6ba7b810-9dad-11d1-80b4-00c04fd430c8");
  EXPECT_EQ(to_string(named_uuid(kDns, "www.example.com")), "2ed6657d-e927-568b-95e1-2665a8aea6a2");
}

TEST(Uuid, OurNamespaceIsARandomOneAndStays) {
  EXPECT_EQ(to_string(kLintelNamespace), "4a8cb328-f323-4cb6-a7dc-73ab0eb24c99");
}

TEST(Uuid, AnotherNameOrNamespaceGivesAnotherUuid) {
  const Uuid one = named_uuid(kLintelNamespace, "sk-07");
  EXPECT_NE(one, named_uuid(kLintelNamespace, "sk-08"));
  EXPECT_NE(one, named_uuid(one, "sk-07"));
}

}  // namespace
}  // namespace lintel::secure
