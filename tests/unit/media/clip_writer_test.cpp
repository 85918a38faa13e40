#include "media/clip_writer.h"

#include <gtest/gtest.h>

#include <string>

#include "media_test_support.h"

namespace lintel::media {
namespace {

ClipWriterOptions small() {
  ClipWriterOptions options;
  options.width_px = 64;
  options.height_px = 48;
  options.fast = true;
  return options;
}

TEST(ClipWriter, LeavesNothingBehindWhenAbandoned) {
  const test::TemporaryFolder folder;
  {
    Result<ClipWriter> writer = ClipWriter::create(folder / "clip.mp4", small());
    ASSERT_TRUE(writer) << writer.error();
    ASSERT_TRUE(writer->add(test::marked_picture(64, 48), 0.0));
    EXPECT_EQ(folder.listing().size(), 1u);  // the temporary file, under another name
    EXPECT_FALSE(std::filesystem::exists(folder / "clip.mp4"));
  }
  EXPECT_TRUE(folder.listing().empty());
}

TEST(ClipWriter, KeepsTheOldClipUntilTheNewOneIsWhole) {
  const test::TemporaryFolder folder;
  test::write_text(folder / "clip.mp4", "old");
  {
    Result<ClipWriter> writer = ClipWriter::create(folder / "clip.mp4", small());
    ASSERT_TRUE(writer) << writer.error();
    ASSERT_TRUE(writer->add(test::marked_picture(64, 48), 0.0));
    EXPECT_EQ(test::read_bytes(folder / "clip.mp4").size(), 3u);
    ASSERT_TRUE(writer->finish());
  }
  EXPECT_EQ(folder.listing(), std::vector<std::string>{"clip.mp4"});
  EXPECT_EQ(test::read_all(folder / "clip.mp4").size(), 1u);
}

TEST(ClipWriter, WritesTheSameBytesEachTime) {
  const test::TemporaryFolder folder;
  test::write_marked_clip(folder / "a.mp4", small(), test::regular_times(5, 30.0));
  test::write_marked_clip(folder / "b.mp4", small(), test::regular_times(5, 30.0));
  EXPECT_EQ(test::read_bytes(folder / "a.mp4"), test::read_bytes(folder / "b.mp4"));
}

// What a player jumps in: no frame is further than the interval from one that stands alone, and
// the whole picture is there although the clip has another size than the pictures.
TEST(ClipWriter, KeyFramesComeAsOftenAsAsked) {
  const test::TemporaryFolder folder;
  ClipWriterOptions options = small();
  options.picture_width_px = 95;
  options.picture_height_px = 71;
  options.key_interval = 8;
  Result<ClipWriter> writer = ClipWriter::create(folder / "clip.mp4", options);
  ASSERT_TRUE(writer) << writer.error();
  const std::vector<double> times = {0.0,  0.05, 0.07, 0.12, 0.15, 0.21, 0.22, 0.30, 0.31, 0.35,
                                     0.41, 0.44, 0.50, 0.52, 0.58, 0.61, 0.67, 0.70, 0.75, 0.81};
  for (const double time : times) ASSERT_TRUE(writer->add(test::marked_picture(95, 71), time));
  ASSERT_TRUE(writer->finish());
  const std::vector<DecodedFrame> frames = test::read_all(folder / "clip.mp4");
  ASSERT_EQ(frames.size(), times.size());
  for (std::size_t i = 0; i < times.size(); ++i) EXPECT_NEAR(frames[i].time_s, times[i], 1e-5);
  test::expect_corners(frames.back().image, {test::kRed, test::kGreen, test::kBlue, test::kWhite},
                       30.0);
  LINTEL_NEEDS_FFMPEG_TOOL();
  // FFmpeg's own tool: which frames stand alone (I), and that none waits for a later one (B).
  const std::vector<std::uint8_t> types = test::run_tool(
      "ffprobe -v error -select_streams v -show_entries frame=pict_type -of csv=p=0 " +
      test::quoted(folder / "clip.mp4"));
  std::string letters;
  for (const std::uint8_t c : types) {
    if (c >= 'A' && c <= 'Z') letters += static_cast<char>(c);
  }
  EXPECT_EQ(letters, "IPPPPPPPIPPPPPPPIPPP");
}

TEST(ClipWriter, PutsTheTableOfContentsFirst) {
  const test::TemporaryFolder folder;
  test::write_marked_clip(folder / "clip.mp4", small(), test::regular_times(5, 30.0));
  const std::vector<std::uint8_t> bytes = test::read_bytes(folder / "clip.mp4");
  const std::string text(bytes.begin(), bytes.end());
  EXPECT_LT(text.find("moov"), text.find("mdat"));
}

TEST(ClipWriter, StatesColoursAsTheProbeToolReadsThem) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  ClipWriterOptions options = small();
  options.nominal_rate_hz = 60.0;
  test::write_marked_clip(folder / "clip.mp4", options, test::regular_times(6, 60.0));
  const std::vector<std::uint8_t> output = test::run_tool(
      "ffprobe -v error -show_entries "
      "stream=codec_name,width,height,pix_fmt,color_range,color_space,avg_frame_rate,nb_frames -of "
      "default=nk=0:nw=1 " +
      test::quoted(folder / "clip.mp4"));
  const std::string text(output.begin(), output.end());
  for (const char* line :
       {"codec_name=h264", "width=64", "height=48", "pix_fmt=yuv420p", "color_range=tv",
        "color_space=bt709", "avg_frame_rate=60/1", "nb_frames=6"}) {
    EXPECT_NE(text.find(line), std::string::npos) << line << " not in\n" << text;
  }
}

TEST(ClipWriter, RefusesWhatItCannotWrite) {
  const test::TemporaryFolder folder;
  const auto expect_refused = [&](const std::string& name, const ClipWriterOptions& options,
                                  ErrorCode code, const std::string& word) {
    SCOPED_TRACE(name);
    const Result<ClipWriter> writer = ClipWriter::create(folder / name, options);
    ASSERT_FALSE(writer);
    test::expect_helpful(writer.error(), code, word);
    EXPECT_TRUE(folder.listing().empty());
  };
  ClipWriterOptions options = small();
  expect_refused("clip.gif", options, ErrorCode::Unsupported, "suffix");
  expect_refused("none/clip.mp4", options, ErrorCode::NotFound, "folder");
  expect_refused("clip.webm", options, ErrorCode::Unsupported, "webm");
  options.width_px = 63;
  expect_refused("clip.mp4", options, ErrorCode::Invalid, "63");
  options = small();
  options.rotation_deg = 45;
  expect_refused("clip.mp4", options, ErrorCode::Invalid, "rotation");
  options.rotation_deg = 90;
  expect_refused("clip.mkv", options, ErrorCode::Unsupported, "rotation");
  options = small();
  options.quality = 99;
  expect_refused("clip.mp4", options, ErrorCode::Invalid, "quality");
  options = small();
  options.nominal_rate_hz = 0.0;
  expect_refused("clip.mp4", options, ErrorCode::Invalid, "rate");
  options = small();
  options.codec = ClipCodec::Mjpeg;
  options.bit_depth = 10;
  expect_refused("clip.mp4", options, ErrorCode::Unsupported, "bit depth");
}

TEST(ClipWriter, RefusesPicturesOutOfOrderOrOfAnotherSize) {
  const test::TemporaryFolder folder;
  Result<ClipWriter> writer = ClipWriter::create(folder / "clip.mp4", small());
  ASSERT_TRUE(writer) << writer.error();
  const Result<void> nothing = writer->finish();
  ASSERT_FALSE(nothing);
  test::expect_helpful(nothing.error(), ErrorCode::Invalid, "no frame");
  const Image picture = test::marked_picture(64, 48);
  ASSERT_TRUE(writer->add(picture, 1.0));
  const Result<void> same_time = writer->add(picture, 1.0);
  ASSERT_FALSE(same_time);
  test::expect_helpful(same_time.error(), ErrorCode::Invalid, "time");
  const Result<void> other_size = writer->add(test::marked_picture(48, 64), 2.0);
  ASSERT_FALSE(other_size);
  test::expect_helpful(other_size.error(), ErrorCode::Invalid, "size");
  const Result<void> no_time = writer->add(picture, std::numeric_limits<double>::quiet_NaN());
  ASSERT_FALSE(no_time);
  test::expect_helpful(no_time.error(), ErrorCode::Invalid, "time");
  ASSERT_TRUE(writer->add(picture, 1.5));
  ASSERT_TRUE(writer->finish());
  const Result<void> late = writer->add(picture, 3.0);
  ASSERT_FALSE(late);
  test::expect_helpful(late.error(), ErrorCode::Invalid, "finished");
  const std::vector<DecodedFrame> frames = test::read_all(folder / "clip.mp4");
  ASSERT_EQ(frames.size(), 2u);
  EXPECT_NEAR(frames[1].time_s, 0.5, 1e-4);
}

}  // namespace
}  // namespace lintel::media
