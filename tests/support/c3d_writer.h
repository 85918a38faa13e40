// C3D files for tests, built number by number from the user guide's tables, apart from the reader.
#pragma once

#include <cmath>
#include <cstdint>
#include <cstring>
#include <string>
#include <vector>

#include "formats/c3d.h"

namespace lintel::test_support {

struct C3dWriteOptions {
  formats::C3dProcessor processor = formats::C3dProcessor::Intel;
  bool integers = false;
  double scale = 0.1;        // [unit] of one count of an integer, and of a residual
  std::string units = "mm";  // as it stands in the file
  double metres_per_unit = 0.001;
  int analog_channels = 0;
  int analog_samples = 0;  // per channel and frame
  int labels_per_parameter = 255;
  enum class Frames { Short, Real, LongFrames, Trial } frames = Frames::Short;
  bool zero_parameter_blocks = false;
};

class C3dWriter {
 public:
  explicit C3dWriter(const C3dWriteOptions& options) : o_(options) {}

  std::vector<std::uint8_t> write(const formats::C3dMotion& motion) {
    add_section(motion);
    const std::size_t blocks = (section_.size() + 511) / 512;
    section_.resize(blocks * 512);
    section_[2] = static_cast<std::uint8_t>(o_.zero_parameter_blocks ? 0 : blocks);
    const int data_start = 2 + static_cast<int>(blocks);
    patch_word(section_, data_start_at_, data_start);
    std::vector<std::uint8_t> file = head(motion, data_start);
    file.insert(file.end(), section_.begin(), section_.end());
    for (std::size_t i = 0; i < motion.frame_count; ++i) add_frame(file, motion, i);
    file.resize((file.size() + 511) / 512 * 512);
    return file;
  }

  void add_word(std::vector<std::uint8_t>& out, int value) const {
    const auto low = static_cast<std::uint8_t>(value & 0xFF);
    const auto high = static_cast<std::uint8_t>(value >> 8 & 0xFF);
    const bool big = o_.processor == formats::C3dProcessor::Mips;
    out.push_back(big ? high : low);
    out.push_back(big ? low : high);
  }
  void add_real(std::vector<std::uint8_t>& out, double value) const {
    std::uint32_t bits = 0;
    if (o_.processor == formats::C3dProcessor::Dec) {
      // VAX F: sign, exponent excess 128, fraction of [0.5, 1) without its first bit; the word
      // with the sign comes first, each word little endian.
      if (value != 0.0) {
        int exponent = 0;
        const double fraction = std::frexp(std::abs(value), &exponent);
        auto mantissa = static_cast<std::uint32_t>(std::lround(fraction * (1 << 24)));
        if (mantissa == 1u << 24) {
          mantissa >>= 1;
          ++exponent;
        }
        bits = (value < 0 ? 1u << 31 : 0u) | static_cast<std::uint32_t>(exponent + 128) << 23 |
               (mantissa - (1u << 23));
      }
      add_word(out, static_cast<int>(bits >> 16));
      add_word(out, static_cast<int>(bits & 0xFFFF));
      return;
    }
    const auto real = static_cast<float>(value);
    std::memcpy(&bits, &real, sizeof bits);
    const bool big = o_.processor == formats::C3dProcessor::Mips;
    add_word(out, static_cast<int>(big ? bits >> 16 : bits & 0xFFFF));
    add_word(out, static_cast<int>(big ? bits & 0xFFFF : bits >> 16));
  }

 private:
  double file_scale() const { return o_.integers ? o_.scale : -o_.scale; }
  int analog() const { return o_.analog_channels * o_.analog_samples; }

  static void patch(std::vector<std::uint8_t>& out, std::size_t at,
                    const std::vector<std::uint8_t>& bytes) {
    std::copy(bytes.begin(), bytes.end(), out.begin() + static_cast<std::ptrdiff_t>(at));
  }
  void patch_word(std::vector<std::uint8_t>& out, std::size_t at, int value) const {
    std::vector<std::uint8_t> bytes;
    add_word(bytes, value);
    patch(out, at, bytes);
  }
  std::vector<std::uint8_t> head(const formats::C3dMotion& motion, int data_start) const {
    std::vector<std::uint8_t> out = {2, 0x50};
    add_word(out, static_cast<int>(motion.labels.size()));
    add_word(out, analog());
    add_word(out, 1);
    add_word(out, static_cast<int>(std::min<std::size_t>(motion.frame_count, 65535)));
    add_word(out, 10);
    add_real(out, file_scale());
    add_word(out, data_start);
    add_word(out, o_.analog_samples);
    add_real(out, motion.frame_rate);
    out.resize(512);
    return out;
  }
  // The start of a record; returns where its offset stands.
  std::size_t begin(int id, const std::string& name, bool locked) {
    const auto length = static_cast<int>(name.size());
    section_.push_back(static_cast<std::uint8_t>(locked ? -length : length));
    section_.push_back(static_cast<std::uint8_t>(id));
    section_.insert(section_.end(), name.begin(), name.end());
    section_.resize(section_.size() + 2);
    return section_.size() - 2;
  }
  void end(std::size_t offset_at, const std::string& description) {
    section_.push_back(static_cast<std::uint8_t>(description.size()));
    section_.insert(section_.end(), description.begin(), description.end());
    patch_word(section_, offset_at, static_cast<int>(section_.size() - offset_at));
  }
  void group(int id, const std::string& name) { end(begin(-id, name, false), "a group"); }
  std::size_t words(int id, const std::string& name, const std::vector<int>& values) {
    const std::size_t at = begin(id, name, true);
    section_.push_back(2);
    section_.push_back(values.size() == 1 ? 0 : 1);
    if (values.size() != 1) section_.push_back(static_cast<std::uint8_t>(values.size()));
    const std::size_t first = section_.size();
    for (const int value : values) add_word(section_, value);
    end(at, "");
    return first;
  }
  void real(int id, const std::string& name, double value) {
    const std::size_t at = begin(id, name, false);
    section_.push_back(4);
    section_.push_back(0);
    add_real(section_, value);
    end(at, "a number");
  }
  void texts(int id, const std::string& name, const std::vector<std::string>& rows) {
    std::size_t width = 4;
    for (const std::string& row : rows) width = std::max(width, row.size());
    const std::size_t at = begin(id, name, false);
    section_.push_back(0xFF);  // -1: characters
    section_.push_back(2);
    section_.push_back(static_cast<std::uint8_t>(width));
    section_.push_back(static_cast<std::uint8_t>(rows.size()));
    for (std::string row : rows) {
      row.resize(width, ' ');
      section_.insert(section_.end(), row.begin(), row.end());
    }
    end(at, "");
  }
  void add_section(const formats::C3dMotion& motion) {
    section_ = {1, 0x50, 0, static_cast<std::uint8_t>(o_.processor)};
    real(1, "RATE", motion.frame_rate);  // a parameter may come before its group
    group(1, "POINT");
    words(1, "USED", {static_cast<int>(motion.labels.size())});
    real(1, "SCALE", file_scale());
    data_start_at_ = words(1, "DATA_START", {0});
    texts(1, "UNITS", {o_.units});
    texts(1, "X_SCREEN", {motion.x_screen});
    texts(1, "Y_SCREEN", {motion.y_screen});
    add_frame_count(motion);
    const auto step = static_cast<std::size_t>(o_.labels_per_parameter);
    for (std::size_t i = 0; i < motion.labels.size(); i += step) {
      const auto last = std::min(i + step, motion.labels.size());
      texts(1, i == 0 ? "LABELS" : "LABELS" + std::to_string(i / step + 1),
            {motion.labels.begin() + static_cast<std::ptrdiff_t>(i),
             motion.labels.begin() + static_cast<std::ptrdiff_t>(last)});
    }
    group(2, "ANALOG");
    words(2, "USED", {o_.analog_channels});
    section_.push_back(0);  // a name of no length ends the section
    section_.push_back(0);
  }
  void add_frame_count(const formats::C3dMotion& motion) {
    using Frames = C3dWriteOptions::Frames;
    const auto count = static_cast<int>(motion.frame_count);
    if (o_.frames == Frames::Real) {
      real(1, "FRAMES", count);
    } else {
      words(1, "FRAMES", {o_.frames == Frames::Short ? count : 65535});
    }
    if (o_.frames == Frames::LongFrames) real(1, "LONG_FRAMES", count);
    if (o_.frames == Frames::Trial) {
      group(5, "TRIAL");
      const int first = 65536 + 5, last = first + count - 1;
      words(5, "ACTUAL_START_FIELD", {first & 0xFFFF, first >> 16});
      words(5, "ACTUAL_END_FIELD", {last & 0xFFFF, last >> 16});
    }
  }
  void add_frame(std::vector<std::uint8_t>& out, const formats::C3dMotion& motion,
                 std::size_t frame) const {
    const auto number = [&](double value) {
      o_.integers ? add_word(out, static_cast<int>(std::lround(value))) : add_real(out, value);
    };
    for (std::size_t point = 0; point < motion.labels.size(); ++point) {
      const formats::C3dSample& sample = motion.at(frame, point);
      for (const float metres : sample.position) {
        number(metres / o_.metres_per_unit / (o_.integers ? o_.scale : 1.0));
      }
      // Cameras 1 and 3 in the high byte, the residual in the low one; -1 = not seen.
      const double residual = sample.residual / o_.metres_per_unit / o_.scale;
      number(sample.seen() ? 0x0500 + std::round(residual) : -1);
    }
    for (int i = 0; i < analog(); ++i) number(100 + i);
  }

  C3dWriteOptions o_;
  std::vector<std::uint8_t> section_;
  std::size_t data_start_at_ = 0;
};

}  // namespace lintel::test_support
