// Small pictures, temporary folders and the ffmpeg command line tool for the tests of media.
#pragma once

#include <gtest/gtest.h>

#include <array>
#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "media/clip_reader.h"
#include "media/clip_writer.h"

namespace lintel::media::test {

// A folder of its own for each test, removed at the end.
class TemporaryFolder {
 public:
  TemporaryFolder();
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;
  ~TemporaryFolder();
  const std::filesystem::path& path() const { return path_; }
  std::filesystem::path operator/(const std::string& name) const { return path_ / name; }
  std::vector<std::string> listing() const;  // names, sorted

 private:
  std::filesystem::path path_;
};

using Bgr = std::array<double, 3>;
inline constexpr Bgr kRed = {30, 30, 220};
inline constexpr Bgr kGreen = {30, 200, 30};
inline constexpr Bgr kBlue = {220, 40, 40};
inline constexpr Bgr kWhite = {230, 230, 230};
inline constexpr Bgr kGray = {110, 120, 130};

// Gray with a colour in each corner, a quarter of the sides: red top left, green top right, blue
// bottom left, white bottom right.
Image marked_picture(int width, int height);
Image plain_picture(int width, int height, Bgr color);
Bgr mean_color(const Image& image, double x0 = 0, double y0 = 0, double x1 = 1, double y1 = 1);
double distance(const Bgr& a, const Bgr& b);  // largest difference of a channel

// The colours in the middles of the corners: top left, top right, bottom left, bottom right.
std::array<Bgr, 4> corners(const Image& image);
void expect_corners(const Image& image, const std::array<Bgr, 4>& expected, double tolerance);

void write_bytes(const std::filesystem::path& path, const std::vector<std::uint8_t>& bytes);
void write_text(const std::filesystem::path& path, const std::string& text);
std::vector<std::uint8_t> read_bytes(const std::filesystem::path& path);

// A clip of marked pictures at these times.
void write_marked_clip(const std::filesystem::path& path, ClipWriterOptions options,
                       const std::vector<double>& times_s);
std::vector<double> regular_times(int count, double rate_hz);

// All frames, or the failure as a test failure.
std::vector<DecodedFrame> read_all(ClipReader& reader);
std::vector<DecodedFrame> read_all(const std::filesystem::path& path,
                                   const ClipReaderOptions& options = {});

// The error must name a file, say what is wrong and what to do.
void expect_helpful(const Error& error, ErrorCode code, const std::string& word);

bool has_ffmpeg_tool();
// Runs a program of the FFmpeg suite with these arguments; its standard output, or a failed test.
std::vector<std::uint8_t> run_tool(const std::string& command_line);
std::string quoted(const std::filesystem::path& path);

}  // namespace lintel::media::test

#define LINTEL_NEEDS_FFMPEG_TOOL()                                                     \
  if (!::lintel::media::test::has_ffmpeg_tool()) {                                     \
    GTEST_SKIP() << "SKIPPED: the ffmpeg command line tool, the outside reference of " \
                    "this test, is not installed";                                     \
  }                                                                                    \
  static_assert(true)
