#include "base/instant.h"

#include <gtest/gtest.h>

namespace lintel {
namespace {

// RFC 3339, section 5.8, and the epochs that `date -u -d ... +%s` gives for them.
TEST(Instant, ReadsTheExamplesOfRfc3339InUtc) {
  EXPECT_EQ(parse_instant("1985-04-12T23:20:50.52Z").value(), 482196050520);
  EXPECT_EQ(parse_instant("1996-12-20T00:39:57Z").value(), 851042397000);
  EXPECT_EQ(parse_instant("1970-01-01T00:00:00.000Z").value(), 0);
  EXPECT_EQ(parse_instant("1969-12-31T23:59:59.999Z").value(), -1);
  EXPECT_EQ(parse_instant("2026-03-09T07:05:30.123456789Z").value(), 1773039930123);
}

TEST(Instant, RefusesWhatIsNone) {
  for (const char* text :
       {"", "2026-03-09", "2026-03-09T07:05:30", "2026-03-09T24:05:30Z", "2026-03-09T07:60:30Z",
        "2026-03-09T07:05:61Z", "2026-02-30T07:05:30Z", "2026-03-09 07:05:30Z",
        "2026-03-09T07:05:30.Z", "2026-03-09T07:05:30.1x3Z", "2026-03-09T07:05:30+01:00",
        "2026-03-09T7:05:30.0Z", "2026-03-09T07:05:30.1234567890Z"}) {
    EXPECT_FALSE(parse_instant(text)) << text;
  }
}

TEST(Instant, WritesWhatItReads) {
  for (const char* text : {"1985-04-12T23:20:50.520Z", "1969-12-31T23:59:59.999Z",
                           "2100-02-28T00:00:00.001Z", "1900-01-01T00:00:00.000Z"}) {
    EXPECT_EQ(instant_text(parse_instant(text).value()), text);
  }
}

TEST(Instant, MovesOnOverMidnightAndBack) {
  EXPECT_EQ(instant_after("2026-12-31T23:59:30.500Z", 29.5), "2027-01-01T00:00:00.000Z");
  EXPECT_EQ(instant_after("2026-03-01T00:00:00.000Z", -0.001), "2026-02-28T23:59:59.999Z");
  EXPECT_EQ(instant_after("no instant", 5), "no instant");
}

}  // namespace
}  // namespace lintel
