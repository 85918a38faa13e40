// Pixels against the ffmpeg command line tool, which decodes the same file on its own.
#include <gtest/gtest.h>

#include <cstdlib>
#include <string>

#include "media_test_support.h"

namespace lintel::media {
namespace {

struct Case {
  const char* name;
  const char* file;
  const char* encode;  // arguments of the tool that make the clip
  int bit_depth;
  bool full_range;
};

class PixelsAgainstTheTool : public testing::TestWithParam<Case> {};

TEST_P(PixelsAgainstTheTool, AgreeWithinRounding) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const Case& c = GetParam();
  const test::TemporaryFolder folder;
  const auto path = folder / c.file;
  test::run_tool("ffmpeg -v error -f lavfi -i testsrc2=size=160x120:rate=25:duration=0.24 " +
                 std::string(c.encode) + " " + test::quoted(path));
  const std::vector<std::uint8_t> reference = test::run_tool(
      "ffmpeg -v error -i " + test::quoted(path) +
      " -vf scale=flags=bicubic+accurate_rnd+full_chroma_int -f rawvideo -pix_fmt bgr24 -");
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_EQ(reader->info().bit_depth, c.bit_depth);
  EXPECT_EQ(reader->info().full_range, c.full_range);
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 6u);
  ASSERT_EQ(reference.size(), 6u * 160 * 120 * 3);
  int largest = 0;
  double sum = 0.0;
  std::size_t at = 0;
  for (const DecodedFrame& frame : frames) {
    for (const std::uint8_t value : frame.image.bytes()) {
      const int difference = std::abs(static_cast<int>(value) - static_cast<int>(reference[at++]));
      largest = std::max(largest, difference);
      sum += difference;
    }
  }
  RecordProperty("largest_difference", largest);
  EXPECT_LE(largest, 2);
  EXPECT_LT(sum / static_cast<double>(at), 0.25);
}

INSTANTIATE_TEST_SUITE_P(
    Clips, PixelsAgainstTheTool,
    testing::Values(
        Case{"limited601", "a.mp4", "-c:v libx264 -pix_fmt yuv420p -colorspace smpte170m", 8,
             false},
        Case{"limited709", "b.mp4",
             "-vf scale=out_color_matrix=bt709 -c:v libx264 -pix_fmt yuv420p -colorspace bt709", 8,
             false},
        Case{"full709", "c.mp4",
             "-vf scale=out_color_matrix=bt709:out_range=full -c:v libx264 -pix_fmt yuv420p "
             "-colorspace bt709 -color_range pc",
             8, true},
        Case{"unstated", "d.mp4", "-c:v libx264 -pix_fmt yuv420p", 8, false},
        Case{"ten_bit_2020", "e.mov",
             "-vf scale=out_color_matrix=bt2020 -c:v libx265 -x265-params log-level=none -pix_fmt "
             "yuv420p10le -colorspace bt2020nc -color_primaries bt2020 -color_trc arib-std-b67",
             10, false},
        Case{"chroma444", "f.mkv", "-c:v libx264 -pix_fmt yuv444p", 8, false},
        Case{"chroma422_10", "g.mov", "-c:v prores_ks -pix_fmt yuv422p10le", 10, false},
        Case{"jpeg", "h.mov", "-c:v mjpeg -q:v 2 -pix_fmt yuvj420p", 8, true},
        Case{"rgb", "i.mkv", "-c:v png -pix_fmt rgb24", 8, true}),
    [](const auto& test_info) { return std::string(test_info.param.name); });

TEST(Pixels, OfAShrunkClipAgreeWithTheTool) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  const auto path = folder / "large.mp4";
  test::run_tool(
      "ffmpeg -v error -f lavfi -i testsrc2=size=640x360:rate=25:duration=0.08 -c:v "
      "libx264 -pix_fmt yuv420p -colorspace bt709 " +
      test::quoted(path));
  const std::vector<std::uint8_t> reference =
      test::run_tool("ffmpeg -v error -i " + test::quoted(path) +
                     " -vf scale=240:135:flags=area+accurate_rnd+full_chroma_int -f rawvideo "
                     "-pix_fmt bgr24 -");
  ClipReaderOptions options;
  options.max_long_side_px = 240;
  const std::vector<DecodedFrame> frames = test::read_all(path, options);
  ASSERT_EQ(frames.size(), 2u);
  ASSERT_EQ(reference.size(), 2u * 240 * 135 * 3);
  std::size_t at = 0;
  int largest = 0;
  for (const DecodedFrame& frame : frames) {
    for (const std::uint8_t value : frame.image.bytes()) {
      largest = std::max(largest, std::abs(static_cast<int>(value) - reference[at++]));
    }
  }
  EXPECT_LE(largest, 2);
}

TEST(Pixels, ThatAreNotSquareAreStretched) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  struct Shape {
    const char* aspect;
    int width_px, height_px;
  };
  for (const Shape& shape : {Shape{"4/3", 128, 64}, Shape{"1/2", 96, 128}, Shape{"1", 96, 64}}) {
    SCOPED_TRACE(shape.aspect);
    const auto path = folder / ("aspect" + std::to_string(shape.width_px) +
                                std::to_string(shape.height_px) + ".mp4");
    test::run_tool(
        "ffmpeg -v error -f lavfi -i testsrc2=size=96x64:rate=25:duration=0.08 -vf "
        "setsar=" +
        std::string(shape.aspect) + " -c:v libx264 " + test::quoted(path));
    Result<ClipReader> reader = ClipReader::open(path);
    ASSERT_TRUE(reader) << reader.error();
    EXPECT_EQ(reader->info().source_width_px, shape.width_px);
    EXPECT_EQ(reader->info().source_height_px, shape.height_px);
    const std::vector<DecodedFrame> frames = test::read_all(*reader);
    ASSERT_EQ(frames.size(), 2u);
    EXPECT_EQ(frames[0].image.width(), shape.width_px);
    EXPECT_EQ(frames[0].image.height(), shape.height_px);
  }
}

TEST(Pixels, OfHighDynamicRangeAreAnnounced) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  const auto path = folder / "hlg.mov";
  test::run_tool(
      "ffmpeg -v error -f lavfi -i testsrc2=size=96x64:rate=25:duration=0.08 -c:v "
      "libx265 -x265-params log-level=none -pix_fmt yuv420p10le -color_trc "
      "arib-std-b67 -color_primaries bt2020 -colorspace bt2020nc " +
      test::quoted(path));
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_TRUE(reader->info().high_dynamic_range);
}

TEST(Pixels, OfAWideClipShrinkToTheDefaultLongSide) {
  const test::TemporaryFolder folder;
  ClipWriterOptions options;
  options.width_px = 1920;
  options.height_px = 1080;
  test::write_marked_clip(folder / "wide.mp4", options, {0.0});
  Result<ClipReader> reader = ClipReader::open(folder / "wide.mp4");
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_EQ(reader->info().width_px, 1280);
  EXPECT_EQ(reader->info().height_px, 720);
  EXPECT_NEAR(reader->info().scale, 2.0 / 3.0, 1e-12);
}

}  // namespace
}  // namespace lintel::media
