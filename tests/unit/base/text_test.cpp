#include "base/text.h"

#include <gtest/gtest.h>

namespace lintel {
namespace {

TEST(Text, ANumberThatRoundsToZeroHasNoSign) {
  EXPECT_EQ(text("%.0f deg (95 %%: %.0f to %.0f)", -0.2, -0.4, 3.0), "0 deg (95 %: 0 to 3)");
  EXPECT_EQ(text("%.1f", -0.04), "0.0");
  EXPECT_EQ(text("%+.1f degrees", -0.04), "+0.0 degrees");
  EXPECT_EQ(text("%+.0f to %+.0f", -0.3, -2.0), "+0 to -2");
}

TEST(Text, EverythingElseKeepsItsSign) {
  EXPECT_EQ(text("%.2f", -0.04), "-0.04");
  EXPECT_EQ(text("%.1f", -0.5), "-0.5");
  EXPECT_EQ(text("%.0f", -10.0), "-10");
  EXPECT_EQ(text("%s until %s", "2026-01-05", "-05"), "2026-01-05 until -05");
  EXPECT_EQ(text("%s", "clip-0.mp4 file-0"), "clip-0.mp4 file-0");
}

TEST(Text, FewDegreesAreWords) {
  EXPECT_EQ(degrees_in_words(2.06), "2.1 degrees");
  EXPECT_EQ(degrees_in_words(0.45), "0.5 degrees");
  EXPECT_EQ(degrees_in_words(0.44), "under half a degree");
  EXPECT_EQ(degrees_in_words(-0.01), "under half a degree");
  EXPECT_EQ(about_degrees(2.06), "about 2.1 degrees");
  EXPECT_EQ(about_degrees(0.44), "under half a degree");
}

}  // namespace
}  // namespace lintel
