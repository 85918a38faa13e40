#include <gtest/gtest.h>

#include <cstring>
#include <string>

#include "media_test_support.h"

namespace lintel::media {
namespace {

struct Turn {
  int rotation_deg;
  bool mirrored;
};

class RotationMetadata : public testing::TestWithParam<Turn> {};

TEST_P(RotationMetadata, BringsEveryCornerWhereThePlayerShowsIt) {
  const auto [rotation_deg, mirrored] = GetParam();
  const test::TemporaryFolder folder;
  const auto path = folder / "turned.mp4";
  ClipWriterOptions options;
  options.width_px = 128;
  options.height_px = 80;
  options.rotation_deg = rotation_deg;
  options.mirrored = mirrored;
  options.quality = 8;
  test::write_marked_clip(path, options, test::regular_times(3, 30.0));
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  const ClipInfo& info = reader->info();
  EXPECT_EQ(info.rotation_deg, rotation_deg);
  EXPECT_EQ(info.mirrored, mirrored);
  const bool upright = rotation_deg % 180 == 0;
  EXPECT_EQ(info.source_width_px, upright ? 128 : 80);
  EXPECT_EQ(info.source_height_px, upright ? 80 : 128);
  EXPECT_EQ(info.width_px, info.source_width_px);
  EXPECT_EQ(info.height_px, info.source_height_px);
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 3u);

  // By hand: mirror first, then turn clockwise.
  std::array<test::Bgr, 4> expected = {test::kRed, test::kGreen, test::kBlue, test::kWhite};
  if (mirrored) expected = {expected[1], expected[0], expected[3], expected[2]};
  for (int i = 0; i < rotation_deg / 90; ++i) {
    expected = {expected[2], expected[0], expected[3], expected[1]};
  }
  test::expect_corners(frames[0].image, expected, 12.0);

  // The outside reference: the ffmpeg tool turns by itself what it decodes.
  LINTEL_NEEDS_FFMPEG_TOOL();
  const std::vector<std::uint8_t> raw = test::run_tool("ffmpeg -v error -i " + test::quoted(path) +
                                                       " -frames:v 1 -f rawvideo -pix_fmt bgr24 -");
  Image reference(info.source_width_px, info.source_height_px);
  ASSERT_EQ(raw.size(), reference.bytes().size());
  std::memcpy(reference.row(0), raw.data(), raw.size());
  test::expect_corners(reference, expected, 12.0);
}

INSTANTIATE_TEST_SUITE_P(Clips, RotationMetadata,
                         testing::Values(Turn{0, false}, Turn{90, false}, Turn{180, false},
                                         Turn{270, false}, Turn{0, true}, Turn{90, true},
                                         Turn{180, true}, Turn{270, true}),
                         [](const auto& test_info) {
                           return std::to_string(test_info.param.rotation_deg) +
                                  (test_info.param.mirrored ? "_mirrored" : "");
                         });

TEST(RotationMetadataOfTheTool, TurnsTheSameWayAsTheToolShowsIt) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  ClipWriterOptions options;
  options.width_px = 128;
  options.height_px = 80;
  test::write_marked_clip(folder / "plain.mp4", options, test::regular_times(2, 30.0));
  for (const int tag : {90, 180, 270}) {
    SCOPED_TRACE(tag);
    const auto path = folder / ("tag" + std::to_string(tag) + ".mov");
    test::run_tool("ffmpeg -v error -i " + test::quoted(folder / "plain.mp4") +
                   " -c copy -metadata:s:v rotate=" + std::to_string(tag) + " " +
                   test::quoted(path));
    const std::vector<DecodedFrame> frames = test::read_all(path);
    ASSERT_EQ(frames.size(), 2u);
    const std::vector<std::uint8_t> raw = test::run_tool(
        "ffmpeg -v error -i " + test::quoted(path) + " -frames:v 1 -f rawvideo -pix_fmt bgr24 -");
    Image reference(frames[0].image.width(), frames[0].image.height());
    ASSERT_EQ(raw.size(), reference.bytes().size());
    std::memcpy(reference.row(0), raw.data(), raw.size());
    test::expect_corners(frames[0].image, test::corners(reference), 6.0);
  }
}

TEST(RotationMetadata, ShrinkingAndTurningGoTogether) {
  const test::TemporaryFolder folder;
  ClipWriterOptions options;
  options.width_px = 640;
  options.height_px = 360;
  options.rotation_deg = 90;
  test::write_marked_clip(folder / "phone.mp4", options, test::regular_times(2, 30.0));
  ClipReaderOptions reading;
  reading.max_long_side_px = 320;
  Result<ClipReader> reader = ClipReader::open(folder / "phone.mp4", reading);
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_EQ(reader->info().source_width_px, 360);
  EXPECT_EQ(reader->info().source_height_px, 640);
  EXPECT_EQ(reader->info().width_px, 180);
  EXPECT_EQ(reader->info().height_px, 320);
  EXPECT_DOUBLE_EQ(reader->info().scale, 0.5);
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 2u);
  EXPECT_EQ(frames[0].image.width(), 180);
  EXPECT_EQ(frames[0].image.height(), 320);
  test::expect_corners(frames[0].image, {test::kBlue, test::kRed, test::kWhite, test::kGreen},
                       14.0);
}

}  // namespace
}  // namespace lintel::media
