#include "server/byte_range.h"

#include <gtest/gtest.h>

#include <cstdint>
#include <string>

namespace lintel::server {
namespace {

// What is asked of 10,000 bytes, as "first-last", "whole" or "none".
std::string asked(const std::string& header, std::uint64_t size = 10'000) {
  const RangeChoice choice = choose_range(header, size);
  if (choice.answer == RangeAnswer::Whole) return "whole";
  if (choice.answer == RangeAnswer::Unsatisfied) return "none";
  return std::to_string(choice.range.first) + "-" + std::to_string(choice.range.last);
}

TEST(ByteRange, AnswersTheExamplesOfRfc9110) {
  // Section 14.1.2, "assuming a representation of length 10000".
  EXPECT_EQ(asked("bytes=0-499"), "0-499");
  EXPECT_EQ(asked("bytes=500-999"), "500-999");
  EXPECT_EQ(asked("bytes=-500"), "9500-9999");
  EXPECT_EQ(asked("bytes=9500-"), "9500-9999");
  // "The first and last bytes only", "first, middle, and last 1000 bytes": several parts, which a
  // server may answer with the whole (section 14.2).
  EXPECT_EQ(asked("bytes=0-0,-1"), "whole");
  EXPECT_EQ(asked("bytes= 0-999, 4500-5499, -1000"), "whole");
  EXPECT_EQ(asked("bytes=500-600,601-999"), "whole");
}

TEST(ByteRange, IsCutAtTheEndOfTheFile) {
  EXPECT_EQ(asked("bytes=9999-20000"), "9999-9999");
  EXPECT_EQ(asked("bytes=0-18446744073709551615"), "0-9999");
  EXPECT_EQ(asked("bytes=0-99999999999999999999999"), "0-9999");
  EXPECT_EQ(asked("bytes=-20000"), "0-9999");
  EXPECT_EQ(asked("Bytes=1-2"), "1-2");  // range units are case-insensitive (section 14.1)
}

TEST(ByteRange, IsUnsatisfiableWhenItBeginsAfterTheEnd) {
  EXPECT_EQ(asked("bytes=10000-"), "none");
  EXPECT_EQ(asked("bytes=10000-10001"), "none");
  EXPECT_EQ(asked("bytes=-0"), "none");
  EXPECT_EQ(asked("bytes=0-0", 0), "none");
  EXPECT_EQ(asked("bytes=-1", 0), "none");
}

TEST(ByteRange, WhatIsNoRangeIsPassedOver) {
  // Section 14.2: an invalid ranges-specifier is ignored, or an unknown unit.
  for (const char* header :
       {"", "bytes", "bytes=", "bytes=-", "bytes=a-b", "bytes=2-1", "lines=0-1", "bytes=+1-2",
        "bytes=1--2", "bytes=1- 2x", "bytes 0-1", "bytes=0x0-1"}) {
    EXPECT_EQ(asked(header), "whole") << header;
  }
}

TEST(IfRange, NeedsTheStrongTagOrTheVeryDate) {
  const std::string date = "Sat, 29 Oct 1994 19:43:31 GMT";
  EXPECT_TRUE(if_range_holds("", "\"a\"", date));
  EXPECT_TRUE(if_range_holds("\"a\"", "\"a\"", date));
  EXPECT_FALSE(if_range_holds("\"b\"", "\"a\"", date));
  EXPECT_FALSE(if_range_holds("W/\"a\"", "W/\"a\"", date));  // strong comparison (section 13.1.5)
  EXPECT_TRUE(if_range_holds(date, "\"a\"", date));
  EXPECT_FALSE(if_range_holds("Sat, 29 Oct 1994 19:43:32 GMT", "\"a\"", date));
}

}  // namespace
}  // namespace lintel::server
