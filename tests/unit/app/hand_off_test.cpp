#include "app/hand_off.h"

#include <gtest/gtest.h>

namespace lintel::app {
namespace {

TEST(ReachableAddress, KeepsTheNameThatABrowserUsed) {
  const ReachableAddress named =
      reachable_address("0.0.0.0:8421", "club.skarnholm.example:8421", true);
  EXPECT_EQ(named.base, "https://club.skarnholm.example:8421");
  EXPECT_TRUE(named.reachable);
  EXPECT_EQ(reachable_address("0.0.0.0:80", "192.0.2.7", false).base, "http://192.0.2.7");
  EXPECT_EQ(reachable_address("[::]:8421", "[2001:db8::7]:8421", true).base,
            "https://[2001:db8::7]:8421");
}

TEST(ReachableAddress, SaysThatALoopbackServerCannotBeReached) {
  for (const char* host : {"localhost:8421", "127.0.0.1:8421", "[::1]:8421"}) {
    const ReachableAddress address = reachable_address("127.0.0.1:8421", host, false);
    EXPECT_FALSE(address.reachable) << host;
    EXPECT_EQ(address.base, "http://" + std::string(host));
  }
}

TEST(ReachableAddress, TakesTheAddressThatItListensOn) {
  EXPECT_EQ(reachable_address("192.0.2.9:8421", "localhost:8421", true).base,
            "https://192.0.2.9:8421");
}

TEST(ContentRange, IsReadStrictly) {
  const auto range = parse_content_range("bytes 8388608-16777215/31457280");
  ASSERT_TRUE(range);
  EXPECT_EQ(range->first, 8388608);
  EXPECT_EQ(range->last, 16777215);
  EXPECT_EQ(range->total, 31457280);
  for (const char* text : {"", "bytes", "bytes 0-1", "bytes 0-1/", "bytes 2-1/9", "bytes 0-9/9",
                           "bytes 0-1/9 ", "bytes 0-1/*", "bytes */9", "bytes +0-1/9",
                           "bytes 0-99999999999999999999/9", "BYTES 0-1/9"}) {
    EXPECT_FALSE(parse_content_range(text)) << text;
  }
}

TEST(MediaType, NeverLetsAPageIn) {
  EXPECT_EQ(media_type_of("a.MP4"), "video/mp4");
  EXPECT_EQ(media_type_of("a.mov"), "video/quicktime");
  EXPECT_EQ(media_type_of("a.html"), "text/plain");
  EXPECT_EQ(media_type_of("a"), "application/octet-stream");
}

}  // namespace
}  // namespace lintel::app
