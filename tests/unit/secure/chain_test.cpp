#include "secure/chain.h"

#include <gtest/gtest.h>

#include <array>

namespace lintel::secure {
namespace {

// Both hashes computed with Python's hashlib over "64:000...0,14:lintel-audit-1,1:1,..." .
TEST(Chain, IsSha256OverLengthsAndBytes) {
  const std::array<std::string_view, 11> first = {"lintel-audit-1",
                                                  "1",
                                                  "org",
                                                  "2026-03-09T07:05:30.123Z",
                                                  "p1",
                                                  "s1",
                                                  "127.0.0.1",
                                                  "sign_in",
                                                  "p1",
                                                  "",
                                                  ""};
  const std::string one = chain_hash(chain_start(), first);
  EXPECT_EQ(one, "b04d8d98b258614c178bafce2c708a2df5365bba8f50d5ff203e7e170c2e8269");
  const std::array<std::string_view, 3> second = {"Skarnholm", "", "ä"};
  EXPECT_EQ(chain_hash(one, second),
            "eba509b91a4b7949905bfba574c1d3fd42d00d74ff1dd064768b15250a11b835");
}

TEST(Chain, TellsFieldsApartWhereverTheirBordersLie) {
  const std::array<std::string_view, 2> a = {"ab", "c"}, b = {"a", "bc"}, c = {"", "abc"};
  const std::array<std::string_view, 1> d = {"abc"}, e = {"ab,1:c"};
  const std::string start = chain_start();
  EXPECT_NE(chain_hash(start, a), chain_hash(start, b));
  EXPECT_NE(chain_hash(start, a), chain_hash(start, c));
  EXPECT_NE(chain_hash(start, a), chain_hash(start, d));
  EXPECT_NE(chain_hash(start, a), chain_hash(start, e));
}

TEST(Chain, DependsOnTheHashBefore) {
  const std::array<std::string_view, 1> fields = {"a"};
  const std::string one = chain_hash(chain_start(), fields);
  EXPECT_EQ(chain_start(), std::string(64, '0'));
  EXPECT_NE(chain_hash(one, fields), one);
}

}  // namespace
}  // namespace lintel::secure
