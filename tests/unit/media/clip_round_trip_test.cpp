#include <gtest/gtest.h>

#include <string>

#include "media_test_support.h"

namespace lintel::media {
namespace {

struct Pair {
  ClipCodec codec;
  const char* codec_name;
  const char* suffix;
  const char* container;
  int bit_depth;
};

std::string pair_name(const testing::TestParamInfo<Pair>& info) {
  return std::string(info.param.codec_name) + "_" + std::to_string(info.param.bit_depth) + "bit_" +
         (info.param.suffix + 1);
}

class EveryCodecInEveryContainer : public testing::TestWithParam<Pair> {};

TEST_P(EveryCodecInEveryContainer, KeepsCountSizeTimesAndColours) {
  const Pair& pair = GetParam();
  const test::TemporaryFolder folder;
  const auto path = folder / (std::string("clip") + pair.suffix);
  ClipWriterOptions options;
  options.width_px = 128;
  options.height_px = 96;
  options.codec = pair.codec;
  options.bit_depth = pair.bit_depth;
  const std::vector<double> times = test::regular_times(8, 30.0);
  test::write_marked_clip(path, options, times);
  if (testing::Test::HasFatalFailure()) return;

  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  const ClipInfo& info = reader->info();
  EXPECT_EQ(info.codec, pair.codec_name);
  EXPECT_EQ(info.container, pair.container);
  EXPECT_EQ(info.bit_depth, pair.bit_depth);
  EXPECT_EQ(info.source_width_px, 128);
  EXPECT_EQ(info.source_height_px, 96);
  EXPECT_EQ(info.width_px, 128);
  EXPECT_DOUBLE_EQ(info.scale, 1.0);
  EXPECT_FALSE(info.has_audio);
  EXPECT_FALSE(info.is_still);
  EXPECT_NEAR(info.nominal_rate_hz, 30.0, 0.5);
  EXPECT_NEAR(info.duration_s, 8 / 30.0, 0.05);
  EXPECT_NEAR(static_cast<double>(info.frame_count_estimate), 8, 1);

  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 8u);
  // Matroska keeps milliseconds.
  const double tolerance = std::string(pair.container) == "mp4" ? 1e-4 : 1.1e-3;
  for (std::size_t i = 0; i < frames.size(); ++i) {
    EXPECT_EQ(frames[i].index, static_cast<std::int64_t>(i));
    EXPECT_NEAR(frames[i].time_s, times[i], tolerance);
    test::expect_corners(frames[i].image, {test::kRed, test::kGreen, test::kBlue, test::kWhite},
                         14.0);
    EXPECT_LT(
        test::distance(test::mean_color(frames[i].image, 0.35, 0.35, 0.65, 0.65), test::kGray),
        5.0);
  }
  EXPECT_EQ(reader->tally().corrupt_skipped, 0);
  EXPECT_EQ(reader->tally().times_repaired, 0);
  EXPECT_FALSE(reader->variable_rate());
}

INSTANTIATE_TEST_SUITE_P(Clips, EveryCodecInEveryContainer,
                         testing::Values(Pair{ClipCodec::H264, "h264", ".mp4", "mp4", 8},
                                         Pair{ClipCodec::H264, "h264", ".mov", "mov", 8},
                                         Pair{ClipCodec::H264, "h264", ".mkv", "matroska", 8},
                                         Pair{ClipCodec::H264, "h264", ".mp4", "mp4", 10},
                                         Pair{ClipCodec::Hevc, "hevc", ".mp4", "mp4", 8},
                                         Pair{ClipCodec::Hevc, "hevc", ".mov", "mov", 8},
                                         Pair{ClipCodec::Hevc, "hevc", ".mkv", "matroska", 8},
                                         Pair{ClipCodec::Hevc, "hevc", ".mov", "mov", 10},
                                         Pair{ClipCodec::Vp9, "vp9", ".mp4", "mp4", 8},
                                         Pair{ClipCodec::Vp9, "vp9", ".webm", "webm", 8},
                                         Pair{ClipCodec::Vp9, "vp9", ".mkv", "matroska", 8},
                                         Pair{ClipCodec::Vp9, "vp9", ".webm", "webm", 10},
                                         Pair{ClipCodec::Av1, "av1", ".mp4", "mp4", 8},
                                         Pair{ClipCodec::Av1, "av1", ".webm", "webm", 8},
                                         Pair{ClipCodec::Av1, "av1", ".mkv", "matroska", 8},
                                         Pair{ClipCodec::Av1, "av1", ".mp4", "mp4", 10},
                                         Pair{ClipCodec::Mjpeg, "mjpeg", ".mp4", "mp4", 8},
                                         Pair{ClipCodec::Mjpeg, "mjpeg", ".mov", "mov", 8},
                                         Pair{ClipCodec::Mjpeg, "mjpeg", ".mkv", "matroska", 8}),
                         pair_name);

// Clips of an encoder that is not ours, with what our writer does not make.
class ForeignClips : public testing::TestWithParam<std::array<const char*, 4>> {};

TEST_P(ForeignClips, OfTheFfmpegToolAreRead) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto& [codec, container, file, arguments] = GetParam();
  const test::TemporaryFolder folder;
  const auto path = folder / file;
  test::run_tool(
      std::string("ffmpeg -v error -f lavfi -i color=c=0x3264C8:size=96x64:rate=25:duration=0.4 ") +
      arguments + " " + test::quoted(path));
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_EQ(reader->info().codec, codec);
  EXPECT_EQ(reader->info().container, container);
  EXPECT_NEAR(reader->info().nominal_rate_hz, 25.0, 0.1);
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 10u);
  for (const DecodedFrame& frame : frames) {
    EXPECT_LT(test::distance(test::mean_color(frame.image), {0xC8, 0x64, 0x32}), 6.0);
  }
  EXPECT_NEAR(frames.back().time_s, 9 / 25.0, 1.1e-3);
}

INSTANTIATE_TEST_SUITE_P(
    Clips, ForeignClips,
    testing::Values(std::array{"h264", "avi", "a.avi", "-c:v libx264 -bf 0 -pix_fmt yuv420p"},
                    std::array{"mjpeg", "avi", "b.avi", "-c:v mjpeg -q:v 2"},
                    std::array{"vp8", "webm", "c.webm", "-c:v libvpx -crf 4 -b:v 2M"},
                    std::array{"mpeg4", "mp4", "d.mp4", "-c:v mpeg4 -q:v 2"},
                    std::array{"prores", "mov", "e.mov", "-c:v prores_ks"},
                    std::array{
                        "h264", "mp4", "f.mp4",
                        "-c:v libx264 -pix_fmt yuv444p -movflags frag_keyframe+empty_moov"}));

TEST(ClipReader, TellsThatTheClipHasSound) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  const auto path = folder / "sound.mp4";
  test::run_tool(
      "ffmpeg -v error -f lavfi -i color=c=gray:size=64x64:rate=25:duration=0.2 -f lavfi -i "
      "sine=duration=0.2 -c:v libx264 -c:a aac " +
      test::quoted(path));
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_TRUE(reader->info().has_audio);
  EXPECT_EQ(test::read_all(*reader).size(), 5u);
}

TEST(ClipReader, ReadsTheSameFromMemoryAndWithAnyNumberOfThreads) {
  const test::TemporaryFolder folder;
  const auto path = folder / "clip.mp4";
  ClipWriterOptions writing;
  writing.width_px = 64;
  writing.height_px = 48;
  test::write_marked_clip(path, writing, test::regular_times(12, 30.0));
  const std::vector<std::uint8_t> bytes = test::read_bytes(path);
  ClipReaderOptions one;
  one.decoder_threads = 1;
  ClipReaderOptions four;
  four.decoder_threads = 4;
  const std::vector<DecodedFrame> from_file = test::read_all(path, one);
  Result<ClipReader> reader = ClipReader::open_memory(bytes, "clip in memory", four);
  ASSERT_TRUE(reader) << reader.error();
  const std::vector<DecodedFrame> from_memory = test::read_all(*reader);
  ASSERT_EQ(from_file.size(), from_memory.size());
  for (std::size_t i = 0; i < from_file.size(); ++i) {
    EXPECT_EQ(from_file[i].time_s, from_memory[i].time_s);
    EXPECT_TRUE(std::equal(from_file[i].image.bytes().begin(), from_file[i].image.bytes().end(),
                           from_memory[i].image.bytes().begin()));
  }
}

TEST(ClipReader, ReusesThePictureItIsGiven) {
  const test::TemporaryFolder folder;
  ClipWriterOptions writing;
  writing.width_px = 64;
  writing.height_px = 48;
  test::write_marked_clip(folder / "clip.mp4", writing, test::regular_times(5, 30.0));
  Result<ClipReader> reader = ClipReader::open(folder / "clip.mp4");
  ASSERT_TRUE(reader) << reader.error();
  DecodedFrame frame;
  ASSERT_TRUE(*reader->next_into(frame));
  const std::uint8_t* memory = frame.image.row(0);
  for (int i = 1; i < 5; ++i) {
    ASSERT_TRUE(*reader->next_into(frame));
    EXPECT_EQ(frame.image.row(0), memory);
  }
  EXPECT_FALSE(*reader->next_into(frame));
  EXPECT_FALSE(*reader->next_into(frame));  // and stays at the end
}

}  // namespace
}  // namespace lintel::media
