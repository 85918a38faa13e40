#include "media/still.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <string>

#include "media_test_support.h"

namespace lintel::media {
namespace {

Image gradient(int width, int height) {
  Image image(width, height);
  for (int y = 0; y < height; ++y) {
    for (int x = 0; x < width; ++x) {
      image.pixel(x, y)[0] = static_cast<std::uint8_t>(255 * x / width);
      image.pixel(x, y)[1] = static_cast<std::uint8_t>(255 * y / height);
      image.pixel(x, y)[2] = static_cast<std::uint8_t>(128 + 60 * x / width);
    }
  }
  return image;
}

int largest_difference(const Image& a, const Image& b) {
  int largest = 0;
  for (std::size_t i = 0; i < a.bytes().size(); ++i) {
    largest = std::max(largest, std::abs(static_cast<int>(a.bytes()[i]) - b.bytes()[i]));
  }
  return largest;
}

Image from_tool(const std::filesystem::path& path, int width, int height) {
  const std::vector<std::uint8_t> raw =
      test::run_tool("ffmpeg -v error -i " + test::quoted(path) +
                     " -vf scale=flags=bicubic+accurate_rnd+full_chroma_int -f rawvideo -pix_fmt "
                     "bgr24 -");
  Image image(width, height);
  EXPECT_EQ(raw.size(), image.bytes().size());
  if (raw.size() == image.bytes().size()) std::memcpy(image.row(0), raw.data(), raw.size());
  return image;
}

TEST(Still, PngKeepsEveryPixel) {
  const test::TemporaryFolder folder;
  for (const auto& [width, height] : {std::pair{61, 37}, {1, 1}, {2, 3}, {640, 360}}) {
    SCOPED_TRACE(width);
    const Image image = gradient(width, height);
    const auto path = folder / ("a" + std::to_string(width) + ".png");
    const Result<void> written = write_png(path, image);
    ASSERT_TRUE(written) << written.error();
    const Result<Image> back = read_still(path);
    ASSERT_TRUE(back) << back.error();
    ASSERT_EQ(back->width(), width);
    ASSERT_EQ(back->height(), height);
    EXPECT_EQ(largest_difference(image, *back), 0);
    if (test::has_ffmpeg_tool() && width > 2) {
      EXPECT_EQ(largest_difference(image, from_tool(path, width, height)), 0);
    }
  }
}

TEST(Still, JpegStaysCloseAndQualityMatters) {
  const test::TemporaryFolder folder;
  const Image image = gradient(160, 90);
  ASSERT_TRUE(write_jpeg(folder / "fine.jpg", image, 95));
  ASSERT_TRUE(write_jpeg(folder / "coarse.jpg", image, 20));
  const Result<Image> fine = read_still(folder / "fine.jpg");
  ASSERT_TRUE(fine) << fine.error();
  EXPECT_LE(largest_difference(image, *fine), 8);
  EXPECT_GT(std::filesystem::file_size(folder / "fine.jpg"),
            std::filesystem::file_size(folder / "coarse.jpg"));
  if (test::has_ffmpeg_tool()) {
    EXPECT_LE(largest_difference(*fine, from_tool(folder / "fine.jpg", 160, 90)), 1);
  }
}

TEST(Still, IsAClipOfOneFrame) {
  const test::TemporaryFolder folder;
  ASSERT_TRUE(write_jpeg(folder / "photo.jpg", gradient(1600, 900), 90));
  Result<ClipReader> reader = ClipReader::open(folder / "photo.jpg");
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_TRUE(reader->info().is_still);
  EXPECT_EQ(reader->info().codec, "mjpeg");
  EXPECT_EQ(reader->info().container, "jpeg");
  EXPECT_EQ(reader->info().frame_count_estimate, 1);
  EXPECT_EQ(reader->info().width_px, 1280);
  EXPECT_EQ(reader->info().height_px, 720);
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 1u);
  EXPECT_EQ(frames[0].time_s, 0.0);
  EXPECT_FALSE(frames[0].time_repaired);
  EXPECT_EQ(reader->tally().times_repaired, 0);
}

// The EXIF part (APP1) of a JPEG with nothing but the orientation (EXIF 2.3, 4.5 and 4.7.2).
std::vector<std::uint8_t> with_exif_orientation(const std::vector<std::uint8_t>& jpeg, int value) {
  const std::array<std::uint8_t, 38> head = {
      0xff, 0xd8, 0xff, 0xe1, 0x00, 0x22, 'E', 'x', 'i', 'f', 0, 0,
      // TIFF head, big-endian, one entry in the first directory
      'M', 'M', 0, 42, 0, 0, 0, 8, 0, 1,
      // tag 0x0112, type SHORT, one value
      0x01, 0x12, 0, 3, 0, 0, 0, 1, 0, static_cast<std::uint8_t>(value), 0, 0, 0, 0, 0, 0};
  std::vector<std::uint8_t> out(head.size() + jpeg.size() - 2);
  std::copy(head.begin(), head.end(), out.begin());
  std::copy(jpeg.begin() + 2, jpeg.end(), out.begin() + head.size());
  return out;
}

TEST(Still, PhotoIsTurnedUprightByItsExifOrientation) {
  const test::TemporaryFolder folder;
  const Result<std::vector<std::uint8_t>> jpeg = encode_jpeg(test::marked_picture(160, 96), 95);
  ASSERT_TRUE(jpeg) << jpeg.error();
  const test::Bgr tl = test::kRed, tr = test::kGreen, bl = test::kBlue, br = test::kWhite;
  const std::array<test::Bgr, 4> seen[] = {{tl, tr, bl, br}, {tr, tl, br, bl}, {br, bl, tr, tl},
                                           {bl, br, tl, tr}, {tl, bl, tr, br}, {bl, tl, br, tr},
                                           {br, tr, bl, tl}, {tr, br, tl, bl}};
  for (int value = 1; value <= 8; ++value) {
    SCOPED_TRACE(value);
    const auto path = folder / ("exif" + std::to_string(value) + ".jpg");
    test::write_bytes(path, with_exif_orientation(*jpeg, value));
    const Result<Image> image = read_still(path);
    ASSERT_TRUE(image) << image.error();
    EXPECT_EQ(image->width(), value < 5 ? 160 : 96);
    test::expect_corners(*image, seen[value - 1], 12.0);
    if (test::has_ffmpeg_tool()) {
      test::expect_corners(from_tool(path, image->width(), image->height()), seen[value - 1], 12.0);
    }
  }
}

TEST(Still, TransparentGrayAndDeepPngAreRead) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  for (const char* format : {"rgba", "gray", "rgb48be", "pal8", "ya8", "monob"}) {
    SCOPED_TRACE(format);
    const auto path = folder / (std::string(format) + ".png");
    test::run_tool("ffmpeg -v error -f lavfi -i color=c=white:size=32x24 -frames:v 1 -pix_fmt " +
                   std::string(format) + " " + test::quoted(path));
    const Result<Image> image = read_still(path);
    ASSERT_TRUE(image) << image.error();
    // Palette and black-and-white conversion of the tool dither a little.
    EXPECT_LT(test::distance(test::mean_color(*image), {255, 255, 255}), 6.0);
  }
}

TEST(Still, DamagedPhotosAreExplained) {
  const test::TemporaryFolder folder;
  std::vector<std::uint8_t> png = encode_png(gradient(64, 48)).value();
  png.resize(40);
  test::write_bytes(folder / "cut.png", png);
  const Result<Image> cut = read_still(folder / "cut.png");
  ASSERT_FALSE(cut);
  test::expect_helpful(cut.error(), ErrorCode::Invalid, "damaged");
  std::vector<std::uint8_t> jpeg = encode_jpeg(gradient(64, 48), 90).value();
  jpeg.resize(30);
  test::write_bytes(folder / "cut.jpg", jpeg);
  const Result<Image> cut_jpeg = read_still(folder / "cut.jpg");
  ASSERT_FALSE(cut_jpeg);
  test::expect_helpful(cut_jpeg.error(), ErrorCode::Invalid, "damaged");
  ClipLimits limits;
  limits.max_still_bytes = 100;
  ASSERT_TRUE(write_png(folder / "whole.png", gradient(64, 48)));
  const Result<Image> large = read_still(folder / "whole.png", limits);
  ASSERT_FALSE(large);
  test::expect_helpful(large.error(), ErrorCode::Limit, "bytes");
}

TEST(Still, PhotoThatBreaksOffInItsPictureIsReported) {
  const test::TemporaryFolder folder;
  std::vector<std::uint8_t> jpeg = encode_jpeg(gradient(320, 240), 90).value();
  test::write_bytes(folder / "whole.jpg", jpeg);
  jpeg.resize(jpeg.size() * 2 / 3);
  test::write_bytes(folder / "cut.jpg", jpeg);
  for (const auto& [name, cut] : {std::pair{"whole.jpg", false}, std::pair{"cut.jpg", true}}) {
    Result<ClipReader> reader = ClipReader::open(folder / name);
    ASSERT_TRUE(reader) << reader.error();
    EXPECT_EQ(test::read_all(*reader).size(), 1u);
    EXPECT_EQ(reader->tally().ended_early, cut) << name;
  }
}

TEST(Still, ClipIsNotAPhoto) {
  const test::TemporaryFolder folder;
  ClipWriterOptions options;
  options.width_px = 64;
  options.height_px = 48;
  test::write_marked_clip(folder / "clip.mp4", options, {0.0, 0.1});
  const Result<Image> image = read_still(folder / "clip.mp4");
  ASSERT_FALSE(image);
  test::expect_helpful(image.error(), ErrorCode::Unsupported, "clip");
}

TEST(Still, FailedWriteLeavesNothingBehind) {
  const test::TemporaryFolder folder;
  const Result<void> empty = write_png(folder / "empty.png", Image());
  ASSERT_FALSE(empty);
  test::expect_helpful(empty.error(), ErrorCode::Invalid, "size");
  const Result<void> quality = write_jpeg(folder / "q.jpg", gradient(8, 8), 0);
  ASSERT_FALSE(quality);
  test::expect_helpful(quality.error(), ErrorCode::Invalid, "quality");
  const Result<void> no_folder = write_png(folder / "none" / "a.png", gradient(8, 8));
  ASSERT_FALSE(no_folder);
  test::expect_helpful(no_folder.error(), ErrorCode::NotFound, "folder");
  const Result<void> is_folder = write_png(folder.path(), gradient(8, 8));
  ASSERT_FALSE(is_folder);
  test::expect_helpful(is_folder.error(), ErrorCode::Invalid, "folder");
  EXPECT_TRUE(folder.listing().empty());
}

}  // namespace
}  // namespace lintel::media
