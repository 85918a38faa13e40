#include "media/orientation.h"

#include <gtest/gtest.h>

#include "media_test_support.h"

namespace lintel::media {
namespace {

using test::Bgr;

Image turned(const Image& image, Orientation orientation) {
  Image out;
  copy_upright(image.row(0), static_cast<std::ptrdiff_t>(image.stride()), image.width(),
               image.height(), orientation, out);
  return out;
}

TEST(Orientation, QuarterTurnClockwiseBringsTheBottomLeftCornerToTheTopLeft) {
  const Image out = turned(test::marked_picture(80, 40), {1, false});
  EXPECT_EQ(out.width(), 40);
  EXPECT_EQ(out.height(), 80);
  test::expect_corners(out, {test::kBlue, test::kRed, test::kWhite, test::kGreen}, 1.0);
}

TEST(Orientation, HalfTurnExchangesOppositeCorners) {
  const Image out = turned(test::marked_picture(80, 40), {2, false});
  test::expect_corners(out, {test::kWhite, test::kBlue, test::kGreen, test::kRed}, 1.0);
}

TEST(Orientation, MirrorExchangesLeftAndRight) {
  const Image out = turned(test::marked_picture(80, 40), {0, true});
  test::expect_corners(out, {test::kGreen, test::kRed, test::kWhite, test::kBlue}, 1.0);
}

TEST(Orientation, FourQuarterTurnsGiveBackEveryPixel) {
  Image image(37, 70);  // wider than a tile, and odd
  for (std::size_t i = 0; i < image.bytes().size(); ++i) {
    image.bytes()[i] = static_cast<std::uint8_t>(i * 31 % 251);
  }
  Image turning = image;
  for (int i = 0; i < 4; ++i) turning = turned(turning, {1, false});
  EXPECT_TRUE(std::equal(image.bytes().begin(), image.bytes().end(), turning.bytes().begin()));
}

TEST(Orientation, EveryMatrixReadsBackAsItWasWritten) {
  for (const bool mirrored : {false, true}) {
    for (int turns = 0; turns < 4; ++turns) {
      std::int32_t matrix[9];
      orientation_to_matrix({turns, mirrored}, matrix);
      EXPECT_EQ(orientation_from_matrix(matrix), (Orientation{turns, mirrored}));
    }
  }
}

TEST(Orientation, NonsenseMatrixIsTakenAsUpright) {
  const std::int32_t zeros[9] = {};
  EXPECT_EQ(orientation_from_matrix(zeros), Orientation{});
  const std::int32_t extreme[9] = {INT32_MIN, INT32_MIN, INT32_MIN, INT32_MIN, INT32_MAX,
                                   INT32_MIN, 0,         0,         0};
  orientation_from_matrix(extreme);  // must not overflow (checked by the sanitizer build)
}

TEST(Orientation, ExifValuesPutRowZeroAndColumnZeroWhereTheStandardSays) {
  // EXIF 2.3, tag 0x0112: where the stored row 0 and column 0 are seen. The stored top left pixel
  // lies in both; the stored top right pixel lies in row 0.
  struct Case {
    int value;
    std::array<Bgr, 4> seen;
  };
  const Bgr tl = test::kRed, tr = test::kGreen, bl = test::kBlue, br = test::kWhite;
  const Case cases[] = {
      {1, {tl, tr, bl, br}},  // row 0 top, column 0 left
      {2, {tr, tl, br, bl}},  // top, right
      {3, {br, bl, tr, tl}},  // bottom, right
      {4, {bl, br, tl, tr}},  // bottom, left
      {5, {tl, bl, tr, br}},  // row 0 left, column 0 top
      {6, {bl, tl, br, tr}},  // right, top
      {7, {br, tr, bl, tl}},  // right, bottom
      {8, {tr, br, tl, bl}},  // left, bottom
  };
  for (const Case& c : cases) {
    SCOPED_TRACE(c.value);
    test::expect_corners(turned(test::marked_picture(80, 40), orientation_from_exif(c.value)),
                         c.seen, 1.0);
  }
}

}  // namespace
}  // namespace lintel::media
