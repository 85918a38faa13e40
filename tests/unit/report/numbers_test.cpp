#include "report/numbers.h"

#include <gtest/gtest.h>
#include <cmath>

#include "report/text_safety.h"

namespace lintel::report {
namespace {

constexpr double kDegree = kRadiansPerDegree;

TEST(Numbers, ShowNoMoreDigitsThanTheErrorAllows) {
  EXPECT_EQ(degrees_text({38.4 * kDegree, 1.8 * kDegree}), "38° ± 2°");
  EXPECT_EQ(degrees_text({38.44 * kDegree, 0.6 * kDegree}), "38.4° ± 0.6°");
  EXPECT_EQ(degrees_text({-3.2 * kDegree, 1.2 * kDegree}), "−3° ± 1°");
  EXPECT_EQ(degrees_text({-0.2 * kDegree, 1.2 * kDegree}), "0° ± 1°");
  EXPECT_EQ(degrees_text({std::nan(""), 0.1}), "not seen");
  EXPECT_EQ(degrees_text({20 * kDegree, std::nan("")}), "20°");
}

TEST(Numbers, AreInInchesOrCentimetres) {
  EXPECT_EQ(length_text({0.0254, 0.00508}, UnitSystem::Imperial), "1.0 ± 0.2 in");
  EXPECT_EQ(length_text({0.036, 0.006}, UnitSystem::Metric), "3.6 ± 0.6 cm");
  EXPECT_EQ(length_text({0.36, 0.02}, UnitSystem::Metric), "36 ± 2 cm");
  EXPECT_EQ(mass_text(20, UnitSystem::Metric), "20 kg");
  // 20 kg are 44.09 lb by the international pound.
  EXPECT_EQ(mass_text(20, UnitSystem::Imperial), "44.1 lb");
}

TEST(Numbers, OfHugeSizeStayShort) {
  EXPECT_LT(fixed_text(1e300, 1).size(), 16u);
  EXPECT_EQ(fixed_text(-INFINITY, 1), "–");
}

TEST(TextSafety, CutsAndRepairsWhatPeopleAndFilesBring) {
  EXPECT_EQ(printable_text("a\tb\nc", LineFeeds::ToSpaces), "a b c");
  EXPECT_EQ(printable_text("a\nb", LineFeeds::Keep), "a\nb");
  EXPECT_EQ(printable_text("x\xff", LineFeeds::Keep), "x\xEF\xBF\xBD");
  std::string longest;
  for (int i = 0; i < 3000; ++i) longest += "ö";
  const std::string cut = printable_text(longest, LineFeeds::Keep);
  EXPECT_EQ(cut.size(), 4000u);
  EXPECT_EQ(cut.substr(3998), "ö");
  EXPECT_EQ(escape_xml("<a & \"b\">"), "&lt;a &amp; &quot;b&quot;&gt;");
}

TEST(TextSafety, KnowsADate) {
  EXPECT_TRUE(is_iso_date("2026-11-25"));
  for (const char* bad :
       {"", "2026-13-01", "2026-00-10", "25.11.2026", "2026-11-2", "2026-11-255"}) {
    EXPECT_FALSE(is_iso_date(bad)) << bad;
  }
}

}  // namespace
}  // namespace lintel::report
