#include "media_test_support.h"

#include <stdlib.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <iterator>

namespace lintel::media::test {

TemporaryFolder::TemporaryFolder() {
  std::string pattern = (std::filesystem::temp_directory_path() / "lintel-media-XXXXXX").string();
  if (::mkdtemp(pattern.data()) == nullptr) ADD_FAILURE() << "no temporary folder";
  path_ = pattern;
}
TemporaryFolder::~TemporaryFolder() {
  std::error_code ignored;
  std::filesystem::remove_all(path_, ignored);
}
std::vector<std::string> TemporaryFolder::listing() const {
  std::vector<std::string> names;
  for (const auto& entry : std::filesystem::directory_iterator(path_)) {
    names.push_back(entry.path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

namespace {

void fill(Image& image, int x0, int y0, int x1, int y1, const Bgr& color) {
  for (int y = y0; y < y1; ++y) {
    for (int x = x0; x < x1; ++x) {
      for (std::size_t c = 0; c < 3; ++c) {
        image.pixel(x, y)[c] = static_cast<std::uint8_t>(color[c]);
      }
    }
  }
}

}  // namespace

Image plain_picture(int width, int height, Bgr color) {
  Image image(width, height);
  fill(image, 0, 0, width, height, color);
  return image;
}

Image marked_picture(int width, int height) {
  Image image = plain_picture(width, height, kGray);
  const int w = width / 4;
  const int h = height / 4;
  fill(image, 0, 0, w, h, kRed);
  fill(image, width - w, 0, width, h, kGreen);
  fill(image, 0, height - h, w, height, kBlue);
  fill(image, width - w, height - h, width, height, kWhite);
  return image;
}

Bgr mean_color(const Image& image, double x0, double y0, double x1, double y1) {
  Bgr sum = {};
  double count = 0;
  const int last_x = std::max(static_cast<int>(x1 * image.width()), 1);
  const int last_y = std::max(static_cast<int>(y1 * image.height()), 1);
  for (int y = static_cast<int>(y0 * image.height()); y < last_y; ++y) {
    for (int x = static_cast<int>(x0 * image.width()); x < last_x; ++x, ++count) {
      for (std::size_t c = 0; c < 3; ++c) sum[c] += image.pixel(x, y)[c];
    }
  }
  for (double& value : sum) value /= std::max(count, 1.0);
  return sum;
}

double distance(const Bgr& a, const Bgr& b) {
  double largest = 0.0;
  for (std::size_t c = 0; c < 3; ++c) largest = std::max(largest, std::abs(a[c] - b[c]));
  return largest;
}

std::array<Bgr, 4> corners(const Image& image) {
  constexpr double kNear = 0.06;
  constexpr double kFar = 0.19;
  return {mean_color(image, kNear, kNear, kFar, kFar),
          mean_color(image, 1 - kFar, kNear, 1 - kNear, kFar),
          mean_color(image, kNear, 1 - kFar, kFar, 1 - kNear),
          mean_color(image, 1 - kFar, 1 - kFar, 1 - kNear, 1 - kNear)};
}

void expect_corners(const Image& image, const std::array<Bgr, 4>& expected, double tolerance) {
  static const char* const kNames[] = {"top left", "top right", "bottom left", "bottom right"};
  const std::array<Bgr, 4> found = corners(image);
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_LT(distance(found[i], expected[i]), tolerance)
        << kNames[i] << ": found " << found[i][0] << ' ' << found[i][1] << ' ' << found[i][2]
        << ", expected " << expected[i][0] << ' ' << expected[i][1] << ' ' << expected[i][2];
  }
}

void write_bytes(const std::filesystem::path& path, const std::vector<std::uint8_t>& bytes) {
  std::ofstream out(path, std::ios::binary);
  out.write(reinterpret_cast<const char*>(bytes.data()),
            static_cast<std::streamsize>(bytes.size()));
}
void write_text(const std::filesystem::path& path, const std::string& text) {
  write_bytes(path, {text.begin(), text.end()});
}
std::vector<std::uint8_t> read_bytes(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  EXPECT_TRUE(in.good()) << path;
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void write_marked_clip(const std::filesystem::path& path, ClipWriterOptions options,
                       const std::vector<double>& times_s) {
  options.fast = true;
  Result<ClipWriter> writer = ClipWriter::create(path, options);
  ASSERT_TRUE(writer) << writer.error();
  const Image picture = marked_picture(options.width_px, options.height_px);
  for (const double time : times_s) {
    const Result<void> added = writer->add(picture, time);
    ASSERT_TRUE(added) << added.error();
  }
  const Result<void> finished = writer->finish();
  ASSERT_TRUE(finished) << finished.error();
}

std::vector<double> regular_times(int count, double rate_hz) {
  std::vector<double> times;
  for (int i = 0; i < count; ++i) times.push_back(i / rate_hz);
  return times;
}

std::vector<DecodedFrame> read_all(ClipReader& reader) {
  std::vector<DecodedFrame> frames;
  for (;;) {
    Result<std::optional<DecodedFrame>> frame = reader.next();
    if (!frame) {
      ADD_FAILURE() << frame.error();
      return frames;
    }
    if (!*frame) return frames;
    frames.push_back(std::move(**frame));
  }
}

std::vector<DecodedFrame> read_all(const std::filesystem::path& path,
                                   const ClipReaderOptions& options) {
  Result<ClipReader> reader = ClipReader::open(path, options);
  if (!reader) {
    ADD_FAILURE() << reader.error();
    return {};
  }
  return read_all(*reader);
}

void expect_helpful(const Error& error, ErrorCode code, const std::string& word) {
  EXPECT_EQ(error.code, code) << error;
  EXPECT_NE(error.message.find(word), std::string::npos) << error;
  EXPECT_FALSE(error.mend.empty()) << error;
  EXPECT_FALSE(error.place.file.empty()) << error;
}

bool has_ffmpeg_tool() {
  static const bool found =
      std::system("ffmpeg -version >/dev/null 2>&1 && ffprobe -version >/dev/null 2>&1") == 0;
  return found;
}

std::vector<std::uint8_t> run_tool(const std::string& command_line) {
  std::vector<std::uint8_t> output;
  FILE* pipe = ::popen((command_line + " </dev/null").c_str(), "r");
  if (pipe == nullptr) {
    ADD_FAILURE() << "cannot run " << command_line;
    return output;
  }
  std::array<std::uint8_t, 65536> block;
  for (std::size_t got = 0; (got = std::fread(block.data(), 1, block.size(), pipe)) > 0;) {
    output.insert(output.end(), block.begin(), block.begin() + static_cast<std::ptrdiff_t>(got));
  }
  EXPECT_EQ(::pclose(pipe), 0) << command_line;
  return output;
}

std::string quoted(const std::filesystem::path& path) {
  return "'" + path.string() + "'";  // temporary folders have no quote in their names
}

}  // namespace lintel::media::test

#if defined(__SANITIZE_ADDRESS__)
// x265 3.5 forgets strings of its parameters at each opening; nothing of ours is hidden by this.
extern "C" const char* __lsan_default_suppressions();
extern "C" const char* __lsan_default_suppressions() {
  return "leak:libx265";
}
#endif
