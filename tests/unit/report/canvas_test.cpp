#include "report/canvas.h"

#include <gtest/gtest.h>

#include "base/random.h"
#include "outside_tools.h"

namespace lintel::report {
namespace {

Image noise(int width, int height) {
  Image image(width, height);
  Random random(3);
  for (std::uint8_t& byte : image.bytes()) byte = static_cast<std::uint8_t>(random.next());
  return image;
}

TEST(CanvasOnAnImage, LeavesWhatIsNotDrawnOnByteForByte) {
  Image image = noise(37, 23);
  const Image before = image;
  auto canvas = Canvas::on_image(image);
  ASSERT_TRUE(canvas);
  ASSERT_TRUE(canvas->finish());
  EXPECT_TRUE(std::equal(image.bytes().begin(), image.bytes().end(), before.bytes().begin()));
}

TEST(CanvasOnAnImage, KeepsTheOrderOfTheColours) {
  Image image(4, 4);
  auto canvas = Canvas::on_image(image);
  canvas->rectangle({0, 0, 4, 4});
  canvas->fill(rgb(0x102030));
  ASSERT_TRUE(canvas->finish());
  const std::uint8_t* pixel = image.pixel(2, 2);  // blue, green, red
  EXPECT_EQ(pixel[0], 0x30);
  EXPECT_EQ(pixel[1], 0x20);
  EXPECT_EQ(pixel[2], 0x10);
}

TEST(Canvas, RefusesAnEmptyPictureAndAWrongDate) {
  Image empty;
  EXPECT_FALSE(Canvas::on_image(empty));
  EXPECT_FALSE(encode_png(empty));
  EXPECT_FALSE(Canvas::pdf(100, 100, {"t", "d", "a", "yesterday"}));
}

// The PNG signature and header fields are those of the W3C PNG specification, section 5.2
// and 11.2.2.
TEST(Png, HasItsSignatureAndSize) {
  const auto png = encode_png(noise(300, 2));
  ASSERT_TRUE(png);
  EXPECT_EQ(png->substr(0, 8), "\x89PNG\r\n\x1a\n");
  EXPECT_EQ(png->substr(12, 4), "IHDR");
  EXPECT_EQ(png->substr(16, 8), std::string("\0\0\x01\x2c\0\0\0\x02", 8));
}

TEST(CanvasText, WrapsInsideOfItsWidthAndCutsAfterItsLines) {
  auto canvas = Canvas::svg(300, 300, {"t", "d", "", ""});
  ASSERT_TRUE(canvas);
  std::string text = "Unbreakable" + std::string(300, 'x') + " and several words after it";
  TextStyle style{10, Weight::Regular, kInk, Align::Left, 120, 0, 0};
  const Box all = canvas->measure(text, style);
  EXPECT_LE(all.width, 120.01);
  style.max_lines = 2;
  const Box two = canvas->measure(text, style);
  style.max_lines = 1;
  const Box one = canvas->measure(text, style);
  EXPECT_NEAR(two.height, 2 * one.height, 0.1);
  EXPECT_GT(all.height, two.height);
}

TEST(CanvasSvg, IsTheSameEachTimeAndDescribesItself) {
  const auto make = [] {
    auto canvas = Canvas::svg(200, 100, {"Path <1>", "What & why", "", ""});
    Image image = noise(8, 8);
    canvas->image(image, {0, 0, 8, 8}, {10, 10, 50, 50});
    canvas->text({10, 70}, "Skarnholm", {});
    return canvas->finish().value();
  };
  const std::string svg = make();
  EXPECT_EQ(svg, make());
  EXPECT_NE(svg.find("<title id=\"title\">Path &lt;1&gt;</title>"), std::string::npos);
  EXPECT_NE(svg.find("<desc id=\"description\">What &amp; why</desc>"), std::string::npos);
  EXPECT_NE(svg.find("role=\"img\""), std::string::npos);
}

}  // namespace
}  // namespace lintel::report
