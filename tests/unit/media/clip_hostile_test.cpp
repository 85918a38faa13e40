#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <string>
#include <thread>

#include "media/still.h"
#include "media_test_support.h"

namespace lintel::media {
namespace {

class HostileInput : public testing::Test {
 protected:
  void expect_refused(const std::filesystem::path& path, ErrorCode code, const std::string& word,
                      const ClipReaderOptions& options = {}) {
    const Result<ClipReader> reader = ClipReader::open(path, options);
    ASSERT_FALSE(reader) << path;
    test::expect_helpful(reader.error(), code, word);
    EXPECT_EQ(reader.error().place.file, path.string());
  }
  // An ordinary clip of 30 frames.
  std::filesystem::path good_clip() {
    const auto path = folder / "good.mp4";
    ClipWriterOptions options;
    options.width_px = 96;
    options.height_px = 64;
    options.quality = 10;
    test::write_marked_clip(path, options, test::regular_times(30, 30.0));
    return path;
  }
  // The tool's moving pattern, whose frames have some substance.
  std::filesystem::path moving_clip(const std::string& name, const std::string& arguments) {
    const auto path = folder / name;
    test::run_tool("ffmpeg -v error -f lavfi -i testsrc2=size=96x64:rate=25:duration=1 " +
                   arguments + " " + test::quoted(path));
    return path;
  }
  test::TemporaryFolder folder;
};

std::size_t find(const std::vector<std::uint8_t>& bytes, const std::string& word) {
  const auto at = std::search(bytes.begin(), bytes.end(), word.begin(), word.end());
  EXPECT_NE(at, bytes.end()) << word;
  return static_cast<std::size_t>(at - bytes.begin());
}

TEST_F(HostileInput, MissingFileIsNamed) {
  expect_refused(folder / "none.mp4", ErrorCode::NotFound, "no such file");
}

TEST_F(HostileInput, EmptyFileIsNamed) {
  test::write_text(folder / "empty.mp4", "");
  expect_refused(folder / "empty.mp4", ErrorCode::Invalid, "empty");
  const Result<ClipReader> memory = ClipReader::open_memory({}, "nothing");
  ASSERT_FALSE(memory);
  test::expect_helpful(memory.error(), ErrorCode::Invalid, "empty");
}

TEST_F(HostileInput, FolderIsNamed) {
  expect_refused(folder.path(), ErrorCode::Invalid, "folder");
}

TEST_F(HostileInput, NamedPipeDoesNotBlock) {
  ASSERT_EQ(::mkfifo((folder / "pipe.mp4").c_str(), 0600), 0);
  expect_refused(folder / "pipe.mp4", ErrorCode::Invalid, "regular file");
}

TEST_F(HostileInput, UnreadableFileIsDenied) {
  if (::geteuid() == 0) GTEST_SKIP() << "SKIPPED: root may read everything";
  test::write_text(folder / "locked.mp4", "x");
  ASSERT_EQ(::chmod((folder / "locked.mp4").c_str(), 0), 0);
  expect_refused(folder / "locked.mp4", ErrorCode::Denied, "may not be read");
}

TEST_F(HostileInput, TextAndNoiseAreNotClips) {
  test::write_text(folder / "notes.mp4", "Monday: five sets of three.\nTuesday: rest.\n");
  expect_refused(folder / "notes.mp4", ErrorCode::Unsupported, "not a clip");
  std::vector<std::uint8_t> noise(5000);
  for (std::size_t i = 0; i < noise.size(); ++i) {
    noise[i] = static_cast<std::uint8_t>((i * 2654435761U) >> 13);
  }
  test::write_bytes(folder / "noise.mp4", noise);
  expect_refused(folder / "noise.mp4", ErrorCode::Unsupported, "clip");
}

TEST_F(HostileInput, PlaylistsThatLeadElsewhereAreRefused) {
  const std::string target = good_clip().string();
  test::write_text(folder / "list.m3u8", "#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\n" +
                                             target + "\n#EXT-X-ENDLIST\n");
  expect_refused(folder / "list.m3u8", ErrorCode::Unsupported, "not read");
  test::write_text(folder / "list.ffconcat", "ffconcat version 1.0\nfile '" + target + "'\n");
  expect_refused(folder / "list.ffconcat", ErrorCode::Unsupported, "not read");
  // The same under a harmless name.
  test::write_text(folder / "list.mp4", "ffconcat version 1.0\nfile '" + target + "'\n");
  expect_refused(folder / "list.mp4", ErrorCode::Unsupported, "not read");
}

TEST_F(HostileInput, HeicPhotoIsExplained) {
  std::vector<std::uint8_t> bytes = {0,   0,   0, 20, 'f', 't', 'y', 'p', 'h', 'e',
                                     'i', 'c', 0, 0,  0,   0,   'm', 'i', 'f', '1',
                                     0,   0,   0, 8,  'm', 'e', 't', 'a'};
  test::write_bytes(folder / "photo.heic", bytes);
  expect_refused(folder / "photo.heic", ErrorCode::Unsupported, "HEIC");
}

TEST_F(HostileInput, SoundAloneIsNotAClip) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  test::run_tool("ffmpeg -v error -f lavfi -i sine=duration=0.3 -c:a aac " +
                 test::quoted(folder / "sound.m4a"));
  expect_refused(folder / "sound.m4a", ErrorCode::Unsupported, "sound");
  test::run_tool("ffmpeg -v error -f lavfi -i sine=duration=0.3 " +
                 test::quoted(folder / "sound.wav"));
  expect_refused(folder / "sound.wav", ErrorCode::Unsupported, "not read");
}

TEST_F(HostileInput, RecordingWithoutItsTableOfContentsIsExplained) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  // Without faststart the table comes last, as phones write it; the transfer breaks off before.
  const auto path = moving_clip("cut.mp4", "-c:v libx264");
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  bytes.resize(find(bytes, "moov") - 4);
  test::write_bytes(path, bytes);
  expect_refused(path, ErrorCode::Invalid, "table of contents");
  const Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_FALSE(reader.error().trail.empty());  // FFmpeg's own words are kept
  EXPECT_NE(describe(reader.error()).find("moov atom not found"), std::string::npos);
}

TEST_F(HostileInput, ClipThatBreaksOffIsReadAsFarAsItGoes) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto path = moving_clip("half.mp4", "-c:v libx264 -movflags +faststart");
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  const std::size_t data = find(bytes, "mdat");
  bytes.resize(data + (bytes.size() - data) / 2);
  test::write_bytes(path, bytes);
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  const std::size_t count = test::read_all(*reader).size();
  EXPECT_GT(count, 0u);
  EXPECT_LT(count, 25u);
  EXPECT_TRUE(reader->tally().ended_early);
}

TEST_F(HostileInput, DamagedFramesAreSkippedAndCounted) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto path = moving_clip("damaged.mp4", "-c:v libx264 -g 5 -bf 0");
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  const std::size_t data = find(bytes, "mdat");
  for (std::size_t i = data + 8000; i < data + 9500; ++i) bytes[i] = 0x55;
  test::write_bytes(path, bytes);
  Result<ClipReader> reader = ClipReader::open(path);
  ASSERT_TRUE(reader) << reader.error();
  const std::size_t count = test::read_all(*reader).size();
  EXPECT_GT(count, 5u);
  EXPECT_LT(count, 25u);
  EXPECT_GT(reader->tally().corrupt_skipped, 0);
}

TEST_F(HostileInput, ClipOfWhichNothingDecodesIsAnError) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto path = moving_clip("ruined.mp4", "-c:v libx264");
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  const std::size_t data = find(bytes, "mdat") + 4;
  const std::size_t table = find(bytes, "moov") - 4;
  std::fill(bytes.begin() + static_cast<std::ptrdiff_t>(data),
            bytes.begin() + static_cast<std::ptrdiff_t>(table), std::uint8_t{0x33});
  test::write_bytes(path, bytes);
  expect_refused(path, ErrorCode::Invalid, "no frame");
}

TEST_F(HostileInput, ClipWithoutFramesIsAnError) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto path =
      moving_clip("head.mp4", "-c:v libx264 -movflags frag_keyframe+empty_moov+default_base_moof");
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  bytes.resize(find(bytes, "moof") - 4);
  test::write_bytes(path, bytes);
  expect_refused(path, ErrorCode::Invalid, "no frame");
}

TEST_F(HostileInput, CodecNobodyKnowsIsNamed) {
  const auto path = good_clip();
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  // The tag of the sample description, not the compatible brand of the same name.
  const std::size_t description = find(bytes, "stsd");
  const auto at = std::search(bytes.begin() + static_cast<std::ptrdiff_t>(description), bytes.end(),
                              std::begin("avc1"), std::end("avc1") - 1);
  ASSERT_NE(at, bytes.end());
  std::fill(at, at + 4, std::uint8_t{'z'});
  test::write_bytes(path, bytes);
  expect_refused(path, ErrorCode::Unsupported, "codec");
}

TEST_F(HostileInput, CodecOutsideOfTheListIsNamed) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  expect_refused(moving_clip("old.mkv", "-c:v mpeg2video"), ErrorCode::Unsupported, "mpeg2video");
}

TEST_F(HostileInput, EncryptedClipIsDenied) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto path = moving_clip("secret.mp4",
                                "-c:v libx264 -encryption_scheme cenc-aes-ctr -encryption_key "
                                "00112233445566778899aabbccddeeff -encryption_kid "
                                "112233445566778899aabbccddeeff00");
  expect_refused(path, ErrorCode::Denied, "encrypted");
}

TEST_F(HostileInput, PictureBeyondTheLimitIsRefusedBeforeItIsDecoded) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto make = [this](const std::string& name, const std::string& size,
                           const std::string& codec) {
    test::run_tool("ffmpeg -v error -f lavfi -i color=c=gray:size=" + size +
                   ":rate=25:duration=0.08 " + codec + " " + test::quoted(folder / name));
    return folder / name;
  };
  expect_refused(make("wide.mp4", "8208x64", "-c:v libx264 -preset ultrafast"), ErrorCode::Limit,
                 "8208");
  expect_refused(make("high.mkv", "64x8208", "-c:v libx264 -preset ultrafast"), ErrorCode::Limit,
                 "8208");
  expect_refused(make("wide.jpg", "8208x64", "-frames:v 1"), ErrorCode::Limit, "8208");
  expect_refused(make("wide.png", "8208x64", "-frames:v 1"), ErrorCode::Limit, "8208");
  ClipReaderOptions options;
  options.limits.max_pixels = 100 * 100;
  const auto fits = make("fits.mp4", "128x96", "-c:v libx264");
  expect_refused(fits, ErrorCode::Limit, "10000", options);
  EXPECT_EQ(test::read_all(fits).size(), 2u);
}

TEST_F(HostileInput, ContainerThatUnderstatesTheSizeIsCaughtInTheDecoder) {
  // Both the track header and the sample description are made to lie.
  LINTEL_NEEDS_FFMPEG_TOOL();
  const auto path = moving_clip("lie.mkv", "-c:v libvpx-vp9 -deadline realtime");
  ClipReaderOptions options;
  options.limits.max_width_px = 95;
  expect_refused(path, ErrorCode::Limit, "96", options);
  std::vector<std::uint8_t> bytes = test::read_bytes(path);
  // EBML: PixelWidth (0xB0), one byte, 96; PixelHeight (0xBA), one byte, 64 (RFC 9559).
  const std::vector<std::uint8_t> width = {0xB0, 0x81, 96};
  const auto at = std::search(bytes.begin(), bytes.end(), width.begin(), width.end());
  ASSERT_NE(at, bytes.end());
  at[2] = 32;
  test::write_bytes(path, bytes);
  expect_refused(path, ErrorCode::Limit, "96", options);
}

TEST_F(HostileInput, TooManyFramesAreALimit) {
  ClipReaderOptions options;
  options.limits.max_frames = 10;
  Result<ClipReader> reader = ClipReader::open(good_clip(), options);
  Result<bool> more = reader ? Result<bool>(true) : Result<bool>(fail(reader.error()));
  DecodedFrame frame;
  for (int i = 0; more && *more && i < 100; ++i) more = reader->next_into(frame);
  ASSERT_FALSE(more);
  test::expect_helpful(more.error(), ErrorCode::Limit, "10 frames");
}

TEST_F(HostileInput, StopRequestEndsTheReading) {
  std::stop_source stop;
  ClipReaderOptions options;
  options.stop = stop.get_token();
  Result<ClipReader> reader = ClipReader::open(good_clip(), options);
  ASSERT_TRUE(reader) << reader.error();
  DecodedFrame frame;
  ASSERT_TRUE(reader->next_into(frame));
  stop.request_stop();
  const Result<bool> more = reader->next_into(frame);
  ASSERT_FALSE(more);
  test::expect_helpful(more.error(), ErrorCode::Cancelled, "stopped");
  expect_refused(good_clip(), ErrorCode::Cancelled, "stopped", options);
}

TEST_F(HostileInput, EveryCutOfAClipEndsInFramesOrInAHelpfulError) {
  const auto path = good_clip();
  const std::vector<std::uint8_t> bytes = test::read_bytes(path);
  for (int part = 1; part < 40; ++part) {
    const std::size_t length = bytes.size() * static_cast<std::size_t>(part) / 40;
    Result<ClipReader> reader = ClipReader::open_memory({bytes.data(), length}, "cut");
    if (!reader) {
      EXPECT_FALSE(reader.error().mend.empty()) << reader.error();
      continue;
    }
    DecodedFrame frame;
    for (;;) {
      const Result<bool> more = reader->next_into(frame);
      EXPECT_TRUE(more || !more.error().mend.empty());
      if (!more || !*more) break;
    }
  }
}

TEST_F(HostileInput, PictureThatChangesItsShapeIsExplained) {
  LINTEL_NEEDS_FFMPEG_TOOL();
  // Two H.264 streams of different shape, one after the other, with their heads in the stream.
  for (const auto& [name, size] : {std::pair{"a", "96x64"}, std::pair{"b", "64x96"}}) {
    test::run_tool(std::string("ffmpeg -v error -f lavfi -i testsrc2=size=") + size +
                   ":rate=25:duration=0.2 -c:v mjpeg -q:v 3 -f mjpeg " +
                   test::quoted(folder / name));
  }
  std::vector<std::uint8_t> both = test::read_bytes(folder / "a");
  const std::vector<std::uint8_t> second = test::read_bytes(folder / "b");
  both.insert(both.end(), second.begin(), second.end());
  test::write_bytes(folder / "both.mjpeg", both);
  test::run_tool("ffmpeg -v error -f mjpeg -i " + test::quoted(folder / "both.mjpeg") +
                 " -c copy " + test::quoted(folder / "both.mkv"));
  Result<ClipReader> reader = ClipReader::open(folder / "both.mkv");
  ASSERT_TRUE(reader) << reader.error();
  DecodedFrame frame;
  Result<bool> more = true;
  while (more && *more) more = reader->next_into(frame);
  ASSERT_FALSE(more);
  test::expect_helpful(more.error(), ErrorCode::Unsupported, "shape");
  EXPECT_EQ(more.error().place.frame, 5);
}

}  // namespace
}  // namespace lintel::media
