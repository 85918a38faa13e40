#include "formats/c3d.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "base/units.h"
#include "formats/c3d_parameters.h"

namespace lintel::formats {
namespace {

constexpr int kKey = 0x50;
constexpr double kUnsaidFrames = 65535;  // "see elsewhere", or that many
constexpr double kHighestRate = 100'000;

struct Head {
  std::size_t parameters = 0;  // first byte of the section
  std::size_t data = 0;        // first byte
  int points = 0, analog = 0, analog_samples = 0;
  int first_frame = 0, last_frame = 0;
  bool reals = false;
};

tl::unexpected<Error> invalid(std::size_t byte, std::string message,
                              std::string mend = "export the file again") {
  return c3d_fault(ErrorCode::Invalid, byte, std::move(message), std::move(mend));
}

// Where a block begins; they count from 1.
std::size_t block_at(int number) {
  return (static_cast<std::size_t>(number) - 1) * kC3dBlock;
}

Result<C3dProcessor> read_processor(std::span<const std::uint8_t> bytes) {
  if (bytes.size() < 2 * kC3dBlock) {
    return invalid(
        0, text("the file has %zu bytes; header and parameters alone take 1024", bytes.size()),
        "is this a C3D file?");
  }
  if (bytes[1] != kKey) return invalid(1, "this is not a C3D file", "give a file made as C3D");
  const int first = bytes[0];
  if (first < 2 || block_at(first) + 4 > bytes.size()) {
    return invalid(0, text("the parameters begin in block %d, which is not there", first));
  }
  const std::size_t at = block_at(first) + 3;
  const int processor = bytes[at];
  if (processor < 84 || processor > 86) {
    return c3d_fault(ErrorCode::Unsupported, at,
                     text("processor type %d; known are 84, 85 and 86", processor),
                     "export the file in Intel format");
  }
  return static_cast<C3dProcessor>(processor);
}

Result<Head> read_head(const C3dBytes& bytes) {
  Head head;
  head.parameters = block_at(bytes.byte(0));
  head.points = bytes.word(2);
  head.analog = bytes.word(4);
  head.first_frame = bytes.word(6);
  head.last_frame = bytes.word(8);
  head.reals = bytes.real(12) < 0;
  const int data = bytes.word(16);
  head.analog_samples = bytes.word(18);
  if (data < 1 || block_at(data) <= head.parameters || block_at(data) > bytes.size()) {
    return invalid(16, text("the data begin in block %d, which is not there", data));
  }
  head.data = block_at(data);
  return head;
}

Result<C3dParameters> read_parameters(const C3dBytes& bytes, const Head& head) {
  const auto blocks = static_cast<std::size_t>(bytes.byte(head.parameters + 2));
  std::size_t end = head.data;  // some programs write 0 blocks
  if (blocks > 0) end = std::min(end, head.parameters + blocks * kC3dBlock);
  return C3dParameters::read(bytes, head.parameters, end);
}

// Header against parameters, where both say the same thing.
Result<void> compare(const Head& head, const C3dParameters& parameters) {
  const auto used = parameters.number("POINT", "USED");
  if (!used) return invalid(head.parameters, "POINT:USED is not there");
  if (*used != head.points) {
    return invalid(2, text("the header has %d points, POINT:USED is %g", head.points, *used));
  }
  const auto data = parameters.number("POINT", "DATA_START");
  if (data && (!(*data >= 1 && *data <= 65535) || block_at(static_cast<int>(*data)) != head.data)) {
    return invalid(16, text("the header has the data in block %zu, POINT:DATA_START is %g",
                            head.data / kC3dBlock + 1, *data));
  }
  const auto channels = parameters.number("ANALOG", "USED");
  if (channels && head.analog > 0 && *channels * head.analog_samples != head.analog) {
    return invalid(4, text("the header has %d analog numbers a frame in %d samples, ANALOG:USED "
                           "is %g",
                           head.analog, head.analog_samples, *channels));
  }
  return {};
}

Result<double> read_scale(const Head& head, const C3dParameters& parameters) {
  const auto scale = parameters.number("POINT", "SCALE");
  if (!scale || !std::isfinite(*scale) || *scale == 0.0) {
    return invalid(head.parameters, "POINT:SCALE is not there, or no number");
  }
  if ((*scale < 0) != head.reals) {
    return invalid(12, "header and POINT:SCALE differ about whether points are whole numbers");
  }
  return *scale;
}

Result<double> metres_per_unit(const Head& head, const C3dParameters& parameters) {
  std::string unit = parameters.text("POINT", "UNITS");
  for (char& c : unit) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  if (unit == "mm") return 0.001;
  if (unit == "cm") return 0.01;
  if (unit == "m") return 1.0;
  if (unit == "in") return kMetresPerInch;
  return c3d_fault(ErrorCode::Unsupported, head.parameters,
                   "POINT:UNITS is \"" + unit + "\"; known are mm, cm, m and in",
                   "export the file in mm");
}

// The rules of the user guide, appendix "The C3D frame count".
Result<double> read_frame_count(const Head& head, const C3dParameters& parameters) {
  double count = head.last_frame - head.first_frame + 1.0;
  if (const auto frames = parameters.number("POINT", "FRAMES")) count = *frames;
  if (count == kUnsaidFrames) {
    const auto low = [&](const char* name) { return parameters.number("TRIAL", name, 0); };
    const auto high = [&](const char* name) { return parameters.number("TRIAL", name, 1); };
    const char* first = "ACTUAL_START_FIELD";
    const char* last = "ACTUAL_END_FIELD";
    if (low(first) && high(first) && low(last) && high(last)) {
      count = (*low(last) + 65536.0 * *high(last)) - (*low(first) + 65536.0 * *high(first)) + 1.0;
    }
    if (const auto frames = parameters.number("POINT", "LONG_FRAMES")) count = *frames;
  }
  if (!(count >= 1) || count > 4e9 || count != std::floor(count)) {
    return invalid(head.parameters, text("the file has %g frames", count));
  }
  return count;
}

Result<std::vector<std::string>> read_labels(const Head& head, const C3dParameters& parameters) {
  std::vector<std::string> labels = parameters.texts("POINT", "LABELS");
  const auto wanted = static_cast<std::size_t>(head.points);
  for (int i = 2; labels.size() < wanted && i < 100; ++i) {
    const auto more = parameters.texts("POINT", "LABELS" + std::to_string(i));
    if (more.empty()) break;
    labels.insert(labels.end(), more.begin(), more.end());
  }
  if (labels.empty()) return invalid(head.parameters, "POINT:LABELS is not there");
  labels.resize(wanted);  // too many are spare; too few leave the rest without a name
  return labels;
}

// Residual and cameras share a number: the low byte is the residual in units of |SCALE|; a negative
// one says that the point was not seen.
C3dSample sample_at(const C3dBytes& bytes, std::size_t at, bool reals, double scale, double unit) {
  C3dSample sample;
  const double word = reals ? bytes.real(at + 12) : bytes.signed_word(at + 6);
  if (!(word >= 0)) return sample;
  for (std::size_t axis = 0; axis < 3; ++axis) {
    const double value =
        reals ? bytes.real(at + 4 * axis) : scale * bytes.signed_word(at + 2 * axis);
    sample.position[axis] = static_cast<float>(value * unit);
    if (!std::isfinite(sample.position[axis])) return C3dSample{};
  }
  const int residual = word < 32768 ? static_cast<int>(word) & 0xFF : 0;
  sample.residual = static_cast<float>(residual * std::abs(scale) * unit);
  if (!std::isfinite(sample.residual)) return C3dSample{};
  return sample;
}

struct Layout {
  double scale = 1, unit = 1;
  std::size_t frames = 0, stride = 0;  // [bytes] of one frame
};

Result<Layout> read_layout(const C3dBytes& bytes, const Head& head, const C3dParameters& parameters,
                           const C3dLimits& limits) {
  Layout layout;
  layout.scale = LINTEL_TRY(read_scale(head, parameters));
  layout.unit = LINTEL_TRY(metres_per_unit(head, parameters));
  const double frames = LINTEL_TRY(read_frame_count(head, parameters));
  if (frames * head.points > static_cast<double>(limits.samples)) {
    return c3d_fault(ErrorCode::Limit, head.parameters,
                     text("%d points in %g frames are more than %zu samples", head.points, frames,
                          limits.samples),
                     "export the stretch that is needed");
  }
  layout.frames = static_cast<std::size_t>(frames);
  const std::size_t numbers =
      4 * static_cast<std::size_t>(head.points) + static_cast<std::size_t>(head.analog);
  layout.stride = numbers * (head.reals ? 4 : 2);
  const std::size_t there = (bytes.size() - head.data) / layout.stride;
  if (there < layout.frames) {
    return invalid(bytes.size(), text("the data end after frame %zu of %zu", there, layout.frames),
                   "copy the file again: it is cut off");
  }
  return layout;
}

Result<C3dMotion> read_motion(std::span<const std::uint8_t> file, const C3dLimits& limits) {
  const C3dBytes bytes(file, LINTEL_TRY(read_processor(file)));
  const Head head = LINTEL_TRY(read_head(bytes));
  if (head.points < 1 || head.points > limits.points) {
    return c3d_fault(
        head.points < 1 ? ErrorCode::Invalid : ErrorCode::Limit, 2,
        text("the file has %d points; 1 to %d can be read", head.points, limits.points),
        "export the markers that are needed");
  }
  const C3dParameters parameters = LINTEL_TRY(read_parameters(bytes, head));
  LINTEL_TRY_VOID(compare(head, parameters));
  const Layout layout = LINTEL_TRY(read_layout(bytes, head, parameters, limits));
  C3dMotion motion;
  motion.processor = bytes.processor();
  motion.stored_as_integers = !head.reals;
  motion.frame_rate = parameters.number("POINT", "RATE").value_or(bytes.real(20));
  if (!(motion.frame_rate > 0) || motion.frame_rate > kHighestRate) {
    return invalid(20, text("the frame rate is %g a second", motion.frame_rate));
  }
  motion.frame_count = layout.frames;
  motion.labels = LINTEL_TRY(read_labels(head, parameters));
  motion.x_screen = parameters.text("POINT", "X_SCREEN");
  motion.y_screen = parameters.text("POINT", "Y_SCREEN");
  motion.analog_per_frame = head.analog;
  motion.samples.reserve(layout.frames * motion.labels.size());
  const std::size_t width = head.reals ? 16 : 8;
  for (std::size_t frame = 0; frame < layout.frames; ++frame) {
    const std::size_t at = head.data + frame * layout.stride;
    for (std::size_t point = 0; point < motion.labels.size(); ++point) {
      motion.samples.push_back(
          sample_at(bytes, at + point * width, head.reals, layout.scale, layout.unit));
    }
  }
  return motion;
}

}  // namespace

Result<C3dMotion> read_c3d(std::span<const std::uint8_t> bytes, std::string_view file_name,
                           const C3dLimits& limits) {
  const auto named = [&](Error error) { return std::move(error.with_file(file_name)); };
  if (bytes.size() > limits.bytes) {
    return fail(named(Error{ErrorCode::Limit,
                            text("the file is larger than %zu MiB", limits.bytes >> 20),
                            {},
                            "export the stretch that is needed",
                            {}}));
  }
  return read_motion(bytes, limits).map_error(named);
}

}  // namespace lintel::formats
