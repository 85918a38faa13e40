// The marked photo of a mobility test: bands outside of the picture, marks where they belong.
#include "report/photo_drawing.h"

#include <cmath>

#include <gtest/gtest.h>

namespace lintel::report {
namespace {

Image grey(int width, int height) {
  Image image(width, height);
  for (auto& byte : image.bytes()) byte = 128;
  return image;
}

PhotoDrawing drawing() {
  PhotoDrawing d;
  d.points = {{{100, 150}, 4, false, {}, "hip"}, {{200, 80}, 4, true, Point{190, 90}, "knee"}};
  d.lines = {{{100, 150}, {200, 80}, false}, {{100, 150}, {220, 150}, true}};
  d.arc = PhotoArc{{100, 150}, 0, -0.6};
  d.label_at = {130, 120};
  d.label = "35 +/- 3 deg";
  d.caption = "Hip flexion, left";
  return d;
}

bool is_grey(const std::uint8_t* pixel) {
  return std::abs(pixel[0] - 128) < 3 && std::abs(pixel[1] - 128) < 3 &&
         std::abs(pixel[2] - 128) < 3;
}

TEST(PhotoDrawing, BandsHideNothingOfThePicture) {
  const Image picture = grey(400, 300);
  const auto marked = mark_test_photo(picture, drawing());
  ASSERT_TRUE(marked) << describe(marked.error());
  EXPECT_EQ(marked->width(), 400);
  EXPECT_GT(marked->height(), 330);  // caption above, cautions below
  // All of the picture is there: its far corners and edge are still grey, between light bands.
  int top = 0;
  while (top < marked->height() && !is_grey(marked->pixel(399, top))) ++top;
  EXPECT_GT(top, 10);
  EXPECT_TRUE(is_grey(marked->pixel(399, top + 298)));
  EXPECT_FALSE(is_grey(marked->pixel(399, top + 301)));
  EXPECT_GT(marked->height() - top - 300, 10);
}

TEST(PhotoDrawing, MarksLieOnTheirPoints) {
  const auto marked = mark_test_photo(grey(400, 300), drawing());
  ASSERT_TRUE(marked);
  int top = 0;
  while (!is_grey(marked->pixel(399, top))) ++top;
  EXPECT_FALSE(is_grey(marked->pixel(100, top + 150)));
  EXPECT_FALSE(is_grey(marked->pixel(200, top + 80)));
  EXPECT_FALSE(is_grey(marked->pixel(150, top + 115)));  // on the line between
  EXPECT_TRUE(is_grey(marked->pixel(350, top + 280)));
}

TEST(PhotoDrawing, TakesPointsAtTheEdgeAndRefusesAnEmptyPicture) {
  PhotoDrawing d = drawing();
  d.points.push_back({{399, 299}, 30, false, {}, "toe"});
  d.label_at = {-50, 1000};
  EXPECT_TRUE(mark_test_photo(grey(400, 300), d));
  EXPECT_TRUE(mark_test_photo(grey(20, 20), d));
  EXPECT_FALSE(mark_test_photo(Image(), d));
}

}  // namespace
}  // namespace lintel::report
