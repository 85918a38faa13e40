#include "formats/utf8.h"

#include <string>

#include <gtest/gtest.h>

namespace lintel::formats {
namespace {

const std::string kReplacement = "\xEF\xBF\xBD";

// Unicode 15, table 3-7: first and last well-formed sequence of each row.
TEST(Utf8, KeepsEveryRowOfTheTableOfWellFormedSequences) {
  for (const std::string& good :
       {std::string(1, '\0'), std::string("\x7F"), std::string("\xC2\x80"), std::string("\xDF\xBF"),
        std::string("\xE0\xA0\x80"), std::string("\xE0\xBF\xBF"), std::string("\xE1\x80\x80"),
        std::string("\xED\x9F\xBF"), std::string("\xEE\x80\x80"), std::string("\xEF\xBF\xBF"),
        std::string("\xF0\x90\x80\x80"), std::string("\xF4\x8F\xBF\xBF")}) {
    EXPECT_EQ(valid_utf8(good), good);
    EXPECT_EQ(utf8_length(good), good.size());
  }
}

TEST(Utf8, ReplacesWhatIsNoCharacter) {
  EXPECT_EQ(valid_utf8("\xC0\xAF"), kReplacement + kReplacement);                     // overlong
  EXPECT_EQ(valid_utf8("\xE0\x9F\xBF"), kReplacement + kReplacement + kReplacement);  // overlong
  EXPECT_EQ(valid_utf8("\xED\xA0\x80"), kReplacement + kReplacement + kReplacement);  // surrogate
  EXPECT_EQ(valid_utf8("a\x80"
                       "b"),
            "a" + kReplacement + "b");                                        // stray
  EXPECT_EQ(valid_utf8("\xE2\x82"), kReplacement + kReplacement);             // cut off
  EXPECT_EQ(valid_utf8("\xF4\x90\x80\x80").size(), 4 * kReplacement.size());  // beyond U+10FFFF
  EXPECT_EQ(valid_utf8("\xFF"), kReplacement);
}

}  // namespace
}  // namespace lintel::formats
