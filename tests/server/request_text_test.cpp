#include "server/request_text.h"

#include <gtest/gtest.h>

namespace lintel::server {
namespace {

// The examples of RFC 3986, section 2.1 and 2.4, and RFC 9110, sections 8 to 12, are marked so.

TEST(Target, DecodesPathAndQuery) {
  const auto target = parse_target("/api/v1/athletes/Ansa%20Brinvik?q=overhead+squat&tag=%C3%A5");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->path, "/api/v1/athletes/Ansa Brinvik");
  EXPECT_EQ(target->query.at("q"), "overhead squat");
  EXPECT_EQ(target->query.at("tag"), "\xc3\xa5");
}

TEST(Target, PlusIsASpaceInTheQueryAloneAndPercentSignsAreDecodedOnce) {
  const auto target = parse_target("/a+b?c+d=e%2Bf%2525");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->path, "/a+b");
  EXPECT_EQ(target->query.at("c d"), "e+f%25");
}

TEST(Target, RefusesWhatTwoReadersCouldUnderstandDifferently) {
  for (const char* target : {"",
                             "a",
                             "*",
                             "http",
                             "/..",
                             "/a/../b",
                             "/a/./b",
                             "//b",
                             "/a//b",
                             "/%2e%2e/etc/passwd",
                             "/a/%2E%2E%2Fb",
                             "/a%2fb",
                             "/a%5cb",
                             "/a\\b",
                             "/a%00b",
                             "/a%0d%0ab",
                             "/%",
                             "/%4",
                             "/%zz",
                             "/a%c0%af",
                             "/a%ed%a0%80",
                             "/a#b",
                             "/a?b=%",
                             "/a?b=%ff",
                             "/a?b=%00"}) {
    EXPECT_FALSE(parse_target(target)) << target;
  }
}

TEST(Target, OfTwoEqualNamesTheLastCounts) {
  const auto target = parse_target("/a?b=1&b=2&&c&=x");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->query.at("b"), "2");
  EXPECT_EQ(target->query.at("c"), "");
}

TEST(Cookies, AreReadAsRfc6265WritesThem) {
  // RFC 6265, section 3.1: "Cookie: SID=31d4d96e407aad42; lang=en-US".
  const auto cookies = parse_cookies("SID=31d4d96e407aad42; lang=en-US");
  EXPECT_EQ(cookies.at("SID"), "31d4d96e407aad42");
  EXPECT_EQ(cookies.at("lang"), "en-US");
  EXPECT_EQ(parse_cookies("a=\"b\"; a=c; d; =e").at("a"), "b");
  EXPECT_EQ(parse_cookies("a=b=c").at("a"), "b=c");
  EXPECT_TRUE(parse_cookies("").empty());
}

TEST(Host, IsNameAndPort) {
  EXPECT_EQ(parse_host("Localhost:8421")->name, "localhost");
  EXPECT_EQ(parse_host("localhost:8421")->port, 8421);
  EXPECT_TRUE(parse_host("127.0.0.1")->address);
  EXPECT_EQ(parse_host("[::1]:80")->name, "::1");
  EXPECT_TRUE(parse_host("[::1]:80")->address);
  EXPECT_EQ(parse_host("gym.example.")->name, "gym.example");
  for (const char* host : {"", "a b", "a/b", "a:b", "a:0", "a:65536", "[::1", "[name]", "[::1]x",
                           "a@b", "a:1:2", ":80"}) {
    EXPECT_FALSE(parse_host(host)) << host;
  }
}

TEST(Origin, HasTheSchemesOwnPortWhenNoneIsGiven) {
  EXPECT_EQ(parse_origin("https://gym.example")->host.port, 443);
  EXPECT_EQ(parse_origin("http://gym.example")->host.port, 80);
  EXPECT_EQ(parse_origin("http://127.0.0.1:8421")->host.port, 8421);
  for (const char* origin : {"null", "", "file://x", "http://a/b", "gym.example"}) {
    EXPECT_FALSE(parse_origin(origin)) << origin;
  }
}

TEST(Accept, TheMostExactRangeCounts) {
  // RFC 9110, section 12.5.1: the example with its table of weights.
  const char* accept =
      "text/*;q=0.3, text/plain;q=0.7, text/plain;format=flowed, text/plain;format=fixed;q=0.4, "
      "*/*;q=0.5";
  EXPECT_DOUBLE_EQ(accept_weight(accept, "text/html"), 0.3);
  EXPECT_DOUBLE_EQ(accept_weight(accept, "image/jpeg"), 0.5);
  EXPECT_DOUBLE_EQ(accept_weight(accept, "text/plain"), 0.7);
  EXPECT_DOUBLE_EQ(accept_weight("", "text/csv"), 1.0);
  EXPECT_DOUBLE_EQ(accept_weight("text/csv;q=0", "text/csv"), 0.0);
}

TEST(AcceptEncoding, NamesItsCodings) {
  // RFC 9110, section 12.5.3.
  EXPECT_DOUBLE_EQ(encoding_weight("compress;q=0.5, gzip;q=1.0", "gzip"), 1.0);
  EXPECT_DOUBLE_EQ(encoding_weight("gzip;q=1.0, identity; q=0.5, *;q=0", "br"), 0.0);
  EXPECT_DOUBLE_EQ(encoding_weight("*", "br"), 1.0);
  EXPECT_DOUBLE_EQ(encoding_weight("", "gzip"), 0.0);
}

TEST(Tags, AreComparedWeakly) {
  // RFC 9110, section 8.8.3.2: the table of weak comparison.
  EXPECT_TRUE(names_tag("W/\"1\"", "W/\"1\""));
  EXPECT_FALSE(names_tag("W/\"1\"", "W/\"2\""));
  EXPECT_TRUE(names_tag("W/\"1\"", "\"1\""));
  EXPECT_TRUE(names_tag("\"1\"", "\"1\""));
  // Section 13.1.2.
  EXPECT_TRUE(names_tag("\"xyzzy\", \"r2d2xxxx\", \"c3piozzzz\"", "\"r2d2xxxx\""));
  EXPECT_TRUE(names_tag("*", "\"1\""));
  EXPECT_FALSE(names_tag("", "\"1\""));
}

TEST(Utf8, RefusesWhatRfc3629Refuses) {
  EXPECT_TRUE(is_utf8("A\xe2\x89\xa2\xce\x91."));  // RFC 3629, section 7
  EXPECT_TRUE(is_utf8("\xf0\xa3\x8e\xb4"));        // there too
  for (const char* bad :
       {"\xc0\x80", "\xed\xa0\x80", "\xf4\x90\x80\x80", "\x80", "\xe2\x89", "\xff"}) {
    EXPECT_FALSE(is_utf8(bad));
  }
}

}  // namespace
}  // namespace lintel::server
