#include "report/square_code.h"

#include <fstream>
#include <sstream>

#include <gtest/gtest.h>

#include "outside_tools.h"
#include "report/handout.h"
#include "report/plan_pages.h"
#include "support/demo_visit.h"

#ifdef LINTEL_HAS_ZXING
#define ZX_USE_UTF8 1
#include <ZXing/ReadBarcode.h>
#endif

namespace lintel::report {
namespace {

TEST(SquareCode, HasThreeFindersAndNoFourth) {
  const auto code = encode_square_code("Skarnholm");
  ASSERT_TRUE(code);
  ASSERT_EQ(code->dark.size(), static_cast<std::size_t>(code->size * code->size));
  EXPECT_EQ((code->size - 17) % 4, 0);  // ISO/IEC 18004: 17 + 4 version modules
  // Finder: dark frame of seven, white ring, dark core of three.
  const auto is_finder = [&](int x0, int y0) {
    for (int y = 0; y < 7; ++y) {
      for (int x = 0; x < 7; ++x) {
        const int ring = std::max(std::abs(x - 3), std::abs(y - 3));
        if (code->at(x0 + x, y0 + y) != (ring != 2)) return false;
      }
    }
    return true;
  };
  const int far = code->size - 7;
  EXPECT_TRUE(is_finder(0, 0));
  EXPECT_TRUE(is_finder(far, 0));
  EXPECT_TRUE(is_finder(0, far));
  EXPECT_FALSE(is_finder(far, far));
}

TEST(SquareCode, TakesAsMuchAsItSaysAndNoMoreThanItCan) {
  EXPECT_TRUE(encode_square_code(std::string(kSquareCodeBytes, 'a')));
  EXPECT_FALSE(encode_square_code(std::string(3000, 'a')));
}

TEST(PlanText, HoldsTheWholePlanWithoutAnyAddress) {
  const auto demo = test_support::demo_visit();
  const std::string text = plan_text(demo->visit, kSquareCodeBytes);
  for (const char* part : {"Runa Fjellgard", "2026-11-30", "Knee rocks to the wall",
                           "3x8, hold 2 s, 5/week; hand's breadth", "Mon 1 2 3", "Easy weeks: 4, 8",
                           "2027-01-11", "Stop on pain, numbness or dizziness."}) {
    EXPECT_NE(text.find(part), std::string::npos) << part << "\n" << text;
  }
  EXPECT_EQ(text.find("http"), std::string::npos);
  EXPECT_EQ(text.find("://"), std::string::npos);
}

TEST(Typeset, PrintsPlainMarksAsTheTradeDoes) {
  EXPECT_EQ(typeset("41 deg +/- 3, short of -10 deg; 12 degrees (95 %: -4 to 12)"),
            "41° ± 3, short of −10°; 12 degrees (95 %: −4 to 12)");
  EXPECT_EQ(typeset("knee-to-wall 2026-11-25 x-3 deg"), "knee-to-wall 2026-11-25 x-3°");
  EXPECT_EQ(typeset(""), "");
}

TEST(PlanText, SaysWhenThePaperHasMore) {
  test_support::DemoVisitOptions options;
  options.drills = 12;
  options.long_texts = true;
  const auto demo = test_support::demo_visit(options);
  for (const std::size_t longest : {std::size_t{40}, std::size_t{300}, kSquareCodeBytes}) {
    const std::string text = plan_text(demo->visit, longest);
    EXPECT_LE(text.size(), longest);
    EXPECT_NE(text.find("More on the paper."), std::string::npos);
  }
}

#ifdef LINTEL_HAS_ZXING
struct GrayPicture {
  int width = 0;
  int height = 0;
  std::string pixels;
};

GrayPicture read_pgm(const std::string& file) {
  std::ifstream in(file, std::ios::binary);
  std::string magic;
  int most = 0;
  GrayPicture picture;
  in >> magic >> picture.width >> picture.height >> most;
  in.get();
  std::stringstream rest;
  rest << in.rdbuf();
  picture.pixels = rest.str();
  return picture;
}
#endif

// Another library reads the code off the printed page (250 dots an inch: four to a module).
TEST(SquareCode, IsReadOffThePrintedHandoutByAnotherLibrary) {
#ifdef LINTEL_HAS_ZXING
  LINTEL_NEEDS_TOOL("pdftoppm");
  for (const int drills : {1, 4, 9}) {
    for (const Paper paper : {Paper::A4, Paper::Letter}) {
      test_support::DemoVisitOptions options;
      options.drills = drills;
      const auto demo = test_support::demo_visit(options);
      demo->plan.athlete_name = "Rúna Fjellgård 立";
      const auto pages = render_handout(demo->visit, {paper, UnitSystem::Metric});
      ASSERT_TRUE(pages);
      const TemporaryFolder folder;
      const std::string file = folder.write("handout.pdf", pages->pdf);
      std::string found;
      for (std::size_t page = 1; page <= pages->text_boxes.size() && found.empty(); ++page) {
        const std::string number = std::to_string(page);
        run_tool("pdftoppm -r 250 -gray -singlefile -f " + number + " -l " + number + " " + file +
                 " " + folder.path("page"));
        const GrayPicture picture = read_pgm(folder.path("page.pgm"));
        ASSERT_GT(picture.width, 0);
        const ZXing::ImageView view(reinterpret_cast<const std::uint8_t*>(picture.pixels.data()),
                                    picture.width, picture.height, ZXing::ImageFormat::Lum);
        ZXing::DecodeHints hints;
        hints.setFormats(ZXing::BarcodeFormat::QRCode);
        const auto result = ZXing::ReadBarcode(view, hints);
        if (result.isValid()) found = result.text();
      }
      EXPECT_EQ(found, plan_text(demo->visit, kSquareCodeBytes));
    }
  }
#else
  GTEST_SKIP() << "NOT CHECKED: libzxing-dev is not installed";
#endif
}

}  // namespace
}  // namespace lintel::report
