#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "media_test_support.h"

namespace lintel::media {
namespace {

ClipWriterOptions small(double rate_hz = 30.0) {
  ClipWriterOptions options;
  options.width_px = 64;
  options.height_px = 48;
  options.nominal_rate_hz = rate_hz;
  return options;
}

// Times of the frames as ffprobe lists them, from the first one: the outside reference.
std::vector<double> probed_times(const std::filesystem::path& path) {
  const std::vector<std::uint8_t> output = test::run_tool(
      "ffprobe -v error -select_streams v -show_entries frame=best_effort_timestamp_time -of "
      "csv=p=0 " +
      test::quoted(path));
  std::vector<double> times;
  std::string line;
  for (const std::uint8_t byte : output) {
    if (byte == '\n') {
      if (!line.empty()) times.push_back(std::stod(line));
      line.clear();
    } else {
      line.push_back(static_cast<char>(byte));
    }
  }
  for (std::size_t i = times.size(); i-- > 0;) times[i] -= times[0];
  return times;
}

TEST(ClipTimes, OfAVariableRateClipAreTheOnesWritten) {
  const test::TemporaryFolder folder;
  const std::vector<double> times = {0.0, 0.033, 0.066, 0.2, 0.233, 0.3, 0.5, 0.52, 1.7, 1.75};
  for (const char* name : {"clip.mp4", "clip.mkv"}) {
    SCOPED_TRACE(name);
    test::write_marked_clip(folder / name, small(), times);
    Result<ClipReader> reader = ClipReader::open(folder / name);
    ASSERT_TRUE(reader) << reader.error();
    const std::vector<DecodedFrame> frames = test::read_all(*reader);
    ASSERT_EQ(frames.size(), times.size());
    for (std::size_t i = 0; i < times.size(); ++i) {
      EXPECT_NEAR(frames[i].time_s, times[i], 6e-4);
      EXPECT_FALSE(frames[i].time_repaired);
      ASSERT_TRUE(frames[i].pts.has_value());
    }
    EXPECT_TRUE(reader->variable_rate());
    EXPECT_NEAR(reader->tally().longest_interval_s, 1.18, 2e-3);
    EXPECT_NEAR(reader->tally().shortest_interval_s, 0.02, 2e-3);
    EXPECT_NEAR(reader->tally().mean_rate_hz, 9 / 1.75, 1e-2);
    const ClipInfo& info = reader->info();
    EXPECT_NEAR(static_cast<double>(*frames[3].pts - *frames[0].pts) *
                    static_cast<double>(info.time_base_numerator) /
                    static_cast<double>(info.time_base_denominator),
                0.2, 6e-4);
    if (test::has_ffmpeg_tool()) {
      const std::vector<double> reference = probed_times(folder / name);
      ASSERT_EQ(reference.size(), frames.size());
      for (std::size_t i = 0; i < times.size(); ++i) {
        EXPECT_NEAR(frames[i].time_s, reference[i], 2e-6);
      }
    }
  }
}

TEST(ClipTimes, WithReorderedFramesComeOutInOrderOfDisplay) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  const auto path = folder / "b-frames.mp4";
  test::run_tool(
      "ffmpeg -v error -f lavfi -i testsrc2=size=96x64:rate=24:duration=1 -c:v libx264 -bf 3 " +
      test::quoted(path));
  const std::vector<DecodedFrame> frames = test::read_all(path);
  const std::vector<double> reference = probed_times(path);
  ASSERT_EQ(frames.size(), 24u);
  ASSERT_EQ(reference.size(), 24u);
  for (std::size_t i = 0; i < 24; ++i) EXPECT_NEAR(frames[i].time_s, reference[i], 2e-6);
}

TEST(ClipTimes, At240FramesASecondAreExact) {
  const test::TemporaryFolder folder;
  test::write_marked_clip(folder / "fast.mp4", small(240.0), test::regular_times(48, 240.0));
  Result<ClipReader> reader = ClipReader::open(folder / "fast.mp4");
  ASSERT_TRUE(reader) << reader.error();
  EXPECT_NEAR(reader->info().nominal_rate_hz, 240.0, 0.5);
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 48u);
  for (std::size_t i = 0; i < 48; ++i) {
    EXPECT_NEAR(frames[i].time_s, static_cast<double>(i) / 240.0, 1e-5);
  }
  EXPECT_FALSE(reader->variable_rate());
}

TEST(ClipTimes, MissingInTheFileAreFilledInAtTheNominalRate) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const test::TemporaryFolder folder;
  const auto path = folder / "b-frames.avi";  // AVI stores no presentation times
  test::run_tool(
      "ffmpeg -v error -f lavfi -i testsrc2=size=96x64:rate=25:duration=0.8 -c:v libx264 -bf 2 " +
      test::quoted(path));
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  const std::vector<DecodedFrame> frames = test::read_all(*reader);
  ASSERT_EQ(frames.size(), 20u);
  double last = -1.0;
  for (const DecodedFrame& frame : frames) {
    EXPECT_GT(frame.time_s, last);
    last = frame.time_s;
  }
  EXPECT_NEAR(last, 19 / 25.0, 0.06);
}

// A clip whose frames can be told apart: the gray value grows with the frame.
void write_counting_clip(const std::filesystem::path& path, int count, double rate_hz) {
  ClipWriterOptions options = small(rate_hz);
  options.fast = true;
  Result<ClipWriter> writer = ClipWriter::create(path, options);
  ASSERT_TRUE(writer) << writer.error();
  for (int i = 0; i < count; ++i) {
    const double gray = 20.0 + 200.0 * i / count;
    ASSERT_TRUE(writer->add(test::plain_picture(64, 48, {gray, gray, gray}), i / rate_hz));
  }
  ASSERT_TRUE(writer->finish());
}

TEST(ClipTimes, WindowDeliversTheSameFramesAsReadingAll) {
  const test::TemporaryFolder folder;
  for (const char* name : {"long.mp4", "long.mkv"}) {
    SCOPED_TRACE(name);
    const auto path = folder / name;
    write_counting_clip(path, 700, 50.0);  // 14 s, key frames at most 5 s apart
    if (testing::Test::HasFatalFailure()) return;
    const std::vector<DecodedFrame> all = test::read_all(path);
    ASSERT_EQ(all.size(), 700u);
    for (const double first : {0.0, 1.0, 5.0, 9.99, 13.5}) {
      SCOPED_TRACE(first);
      ClipReaderOptions options;
      options.first_time_s = first;
      options.last_time_s = first + 0.4;
      const std::vector<DecodedFrame> window = test::read_all(path, options);
      std::size_t at = 0;
      while (at < all.size() && all[at].time_s < first) ++at;
      std::size_t end = at;
      while (end < all.size() && all[end].time_s <= first + 0.4) ++end;
      ASSERT_EQ(window.size(), end - at);
      for (std::size_t i = 0; i < window.size(); ++i) {
        EXPECT_NEAR(window[i].time_s, all[at + i].time_s, 1e-9);
        EXPECT_EQ(window[i].pts, all[at + i].pts);
        EXPECT_TRUE(std::equal(window[i].image.bytes().begin(), window[i].image.bytes().end(),
                               all[at + i].image.bytes().begin()));
      }
    }
  }
}

TEST(ClipTimes, WindowBehindTheEndIsEmptyAndNotAnError) {
  const test::TemporaryFolder folder;
  test::write_marked_clip(folder / "clip.mp4", small(), test::regular_times(5, 30.0));
  ClipReaderOptions options;
  options.first_time_s = 100.0;
  EXPECT_TRUE(test::read_all(folder / "clip.mp4", options).empty());
}

TEST(ClipTimes, NonsenseWindowIsRefused) {
  const test::TemporaryFolder folder;
  test::write_marked_clip(folder / "clip.mp4", small(), test::regular_times(2, 30.0));
  ClipReaderOptions options;
  options.first_time_s = 2.0;
  options.last_time_s = 1.0;
  const Result<ClipReader> reader = ClipReader::open(folder / "clip.mp4", options);
  ASSERT_FALSE(reader);
  test::expect_helpful(reader.error(), ErrorCode::Invalid, "times");
}

}  // namespace
}  // namespace lintel::media
