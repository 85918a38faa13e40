#include "formats/c3d.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "base/random.h"
#include "formats/c3d_parameters.h"
#include "support/c3d_writer.h"

namespace lintel::formats {
namespace {

using test_support::C3dWriteOptions;
using test_support::C3dWriter;
using ::testing::HasSubstr;
using ::testing::StartsWith;
using Frames = C3dWriteOptions::Frames;

// Markers that go up and down; some are lost for a while.
C3dMotion example(std::size_t frames = 12, std::size_t points = 5) {
  C3dMotion motion;
  motion.frame_rate = 120;
  motion.frame_count = frames;
  motion.x_screen = "+X";
  motion.y_screen = "+Z";
  for (std::size_t i = 0; i < points; ++i) motion.labels.push_back("M" + std::to_string(i));
  Random random(5);
  for (std::size_t i = 0; i < frames * points; ++i) {
    C3dSample sample;
    for (float& coordinate : sample.position) {
      coordinate = static_cast<float>(random.uniform(-2.0, 2.0));
    }
    sample.residual = i % 7 == 3 ? -1.0F : static_cast<float>(1e-4 * static_cast<double>(i % 9));
    motion.samples.push_back(sample);
  }
  return motion;
}

void expect_same(const C3dMotion& read, const C3dMotion& written, double tolerance) {
  EXPECT_EQ(read.labels, written.labels);
  EXPECT_EQ(read.frame_count, written.frame_count);
  EXPECT_DOUBLE_EQ(read.frame_rate, written.frame_rate);
  ASSERT_EQ(read.samples.size(), written.samples.size());
  for (std::size_t i = 0; i < read.samples.size(); ++i) {
    const C3dSample& ours = read.samples[i];
    ASSERT_EQ(ours.seen(), written.samples[i].seen()) << i;
    if (!ours.seen()) continue;
    ASSERT_NEAR(ours.residual, written.samples[i].residual, 1e-6);
    for (std::size_t axis = 0; axis < 3; ++axis) {
      ASSERT_NEAR(ours.position[axis], written.samples[i].position[axis], tolerance) << i;
    }
  }
}

std::string fault_of(const std::vector<std::uint8_t>& bytes, const C3dLimits& limits = {}) {
  const auto motion = read_c3d(bytes, "x.c3d", limits);
  if (motion) return "read";
  EXPECT_EQ(motion.error().place.file, "x.c3d");
  return describe(motion.error());
}

// All three processors, whole and floating-point numbers, with and without analog channels.
TEST(C3d, ReadsEveryKindOfFile) {
  for (const auto processor : {C3dProcessor::Intel, C3dProcessor::Dec, C3dProcessor::Mips}) {
    for (const bool integers : {false, true}) {
      for (const int channels : {0, 3}) {
        C3dWriteOptions options;
        options.processor = processor;
        options.integers = integers;
        options.analog_channels = channels;
        options.analog_samples = channels == 0 ? 0 : 10;
        const C3dMotion written = example();
        const auto read = read_c3d(C3dWriter(options).write(written), "x.c3d");
        ASSERT_TRUE(read.has_value()) << describe(read.error());
        expect_same(*read, written, integers ? 0.5001e-4 : 1e-6);
        EXPECT_EQ(read->processor, processor);
        EXPECT_EQ(read->stored_as_integers, integers);
        EXPECT_EQ(read->analog_per_frame, channels * 10);
        EXPECT_EQ(read->x_screen, "+X");
        EXPECT_EQ(read->y_screen, "+Z");
      }
    }
  }
}

// The header by hand: bytes 1 and 2 are 02 50 hex (reference, section 12.3).
TEST(C3d, TheWritersHeadIsTheOneOfTheUserGuide) {
  const auto bytes = C3dWriter({}).write(example(12, 5));
  const std::vector<std::uint8_t> head(bytes.begin(), bytes.begin() + 12);
  EXPECT_EQ(head, (std::vector<std::uint8_t>{2, 0x50, 5, 0, 0, 0, 1, 0, 12, 0, 10, 0}));
  EXPECT_EQ(bytes[512 + 3], 84);
  // RATE as the guide's example of a parameter lays it out: length and group, name, offset, type 4,
  // no dimension, the number (120.0 = 42F00000 hex), description.
  const std::vector<std::uint8_t> rate(bytes.begin() + 516, bytes.begin() + 528);
  EXPECT_EQ(rate, (std::vector<std::uint8_t>{4, 1, 'R', 'A', 'T', 'E', 17, 0, 4, 0, 0, 0}));
}

// VAX F floating point, as a little-endian long word: Baker 2005, USGS Open-File Report 2005-1424
// (from memory; recomputed from the definition of the format).
TEST(C3d, ReadsDecNumbers) {
  const std::vector<std::pair<std::uint32_t, double>> known = {
      {0x00004080, 1.0},   {0x0000C080, -1.0},       {0x00004160, 3.5},
      {0x0000C160, -3.5},  {0x0FDB4149, 3.14159265}, {0xBDC27DF0, 1e37},
      {0x1CEA0308, 1e-37}, {0x0652409E, 1.23456789}, {0x00000000, 0.0}};
  for (const auto& [word, value] : known) {
    std::vector<std::uint8_t> bytes;
    for (int i = 0; i < 4; ++i) bytes.push_back(static_cast<std::uint8_t>(word >> 8 * i));
    EXPECT_NEAR(C3dBytes(bytes, C3dProcessor::Dec).real(0), value, std::abs(value) * 1e-7);
  }
}

TEST(C3d, TakesLengthsInTheUnitsOfTheFile) {
  for (const auto& [units, metres] : std::vector<std::pair<std::string, double>>{
           {"mm", 0.001}, {"CM ", 0.01}, {"m", 1.0}, {"in", 0.0254}}) {
    C3dWriteOptions options;
    options.units = units;
    options.metres_per_unit = metres;
    options.scale = 1e-4 / metres;  // residuals in tenths of a millimetre
    const auto read = read_c3d(C3dWriter(options).write(example()), "x.c3d");
    ASSERT_TRUE(read.has_value()) << describe(read.error());
    expect_same(*read, example(), 1e-6);
  }
  C3dWriteOptions feet;
  feet.units = "ft";
  EXPECT_THAT(fault_of(C3dWriter(feet).write(example())), HasSubstr("mm, cm, m and in"));
}

// The five rules of the user guide, appendix "The C3D frame count".
TEST(C3d, FindsTheFrameCountWhereverItStands) {
  for (const Frames frames : {Frames::Short, Frames::Real, Frames::LongFrames, Frames::Trial}) {
    C3dWriteOptions options;
    options.frames = frames;
    const auto read = read_c3d(C3dWriter(options).write(example()), "x.c3d");
    ASSERT_TRUE(read.has_value()) << describe(read.error());
    EXPECT_EQ(read->frame_count, 12u);
  }
  // More than a signed word holds: FRAMES counts as unsigned.
  const auto read = read_c3d(C3dWriter({}).write(example(40'000, 1)), "x.c3d");
  ASSERT_TRUE(read.has_value()) << describe(read.error());
  EXPECT_EQ(read->frame_count, 40'000u);
}

TEST(C3d, ReadsMoreLabelsThanOneParameterHolds) {
  C3dWriteOptions options;
  options.labels_per_parameter = 100;
  const auto read = read_c3d(C3dWriter(options).write(example(2, 260)), "x.c3d");
  ASSERT_TRUE(read.has_value()) << describe(read.error());
  EXPECT_EQ(read->labels, example(2, 260).labels);
}

TEST(C3d, ReadsAFileThatDoesNotCountItsParameterBlocks) {
  C3dWriteOptions options;
  options.zero_parameter_blocks = true;
  EXPECT_EQ(fault_of(C3dWriter(options).write(example())), "read");
}

TEST(C3d, SaysWhatIsWrongAndAtWhichByte) {
  const auto good = C3dWriter({}).write(example());
  ASSERT_EQ(fault_of(good), "read");
  const auto with = [&good](std::size_t at, std::uint8_t value) {
    auto bytes = good;
    bytes[at] = value;
    return bytes;
  };
  EXPECT_THAT(fault_of({}), HasSubstr("0 bytes"));
  EXPECT_THAT(fault_of(with(1, 'P' + 1)), HasSubstr("byte 1: this is not a C3D file"));
  EXPECT_THAT(fault_of(with(0, 1)), HasSubstr("byte 0: the parameters begin in block 1"));
  EXPECT_THAT(fault_of(with(0, 200)), HasSubstr("block 200"));
  EXPECT_THAT(fault_of(with(512 + 3, 83)), HasSubstr("byte 515: processor type 83"));
  EXPECT_THAT(fault_of(with(2, 6)), HasSubstr("the header has 6 points, POINT:USED is 5"));
  EXPECT_THAT(fault_of(with(2, 0)), HasSubstr("0 points"));
  EXPECT_THAT(fault_of(with(16, 2)), HasSubstr("byte 16"));
  EXPECT_THAT(fault_of(with(16, 4)), HasSubstr("POINT:DATA_START"));
  EXPECT_THAT(fault_of(with(17, 9)), HasSubstr("byte 16"));
  EXPECT_THAT(fault_of(with(15, 0x3F)), HasSubstr("byte 12"));  // scale with the other sign
  EXPECT_THAT(fault_of(with(516 + 6, 1)), HasSubstr("byte 522"));
  EXPECT_THAT(fault_of(with(516 + 7, 0x7F)), HasSubstr("leaves the parameter section"));
  EXPECT_THAT(fault_of(with(516 + 8, 3)), HasSubstr("RATE has the type 3"));
  EXPECT_THAT(fault_of(with(516 + 9, 8)), HasSubstr("RATE is longer than its record"));
  EXPECT_THAT(fault_of(with(516 + 1, 0)), HasSubstr("byte 517"));
  auto cut = good;
  cut.resize(good.size() - 512);
  EXPECT_THAT(fault_of(cut), HasSubstr("the data end after frame"));
  C3dMotion slow = example();
  slow.frame_rate = 0;
  EXPECT_THAT(fault_of(C3dWriter({}).write(slow)), HasSubstr("frame rate"));
}

TEST(C3d, KeepsItsLimits) {
  const auto good = C3dWriter({}).write(example());
  EXPECT_THAT(fault_of(good, {good.size(), 5, 60}), StartsWith("read"));
  EXPECT_THAT(fault_of(good, {good.size() - 1, 5, 60}), HasSubstr("larger than"));
  EXPECT_THAT(fault_of(good, {good.size(), 4, 60}), HasSubstr("1 to 4"));
  EXPECT_THAT(fault_of(good, {good.size(), 5, 59}), HasSubstr("59 samples"));
}

TEST(C3d, ANumberThatIsNoneIsAPointThatWasNotSeen) {
  C3dMotion motion = example(2, 2);
  motion.samples[0].residual = 0;
  motion.samples[0].position[1] = std::numeric_limits<float>::quiet_NaN();
  motion.samples[3].residual = 0;
  motion.samples[3].position[2] = std::numeric_limits<float>::infinity();
  const auto read = read_c3d(C3dWriter({}).write(motion), "x.c3d");
  ASSERT_TRUE(read.has_value());
  EXPECT_FALSE(read->samples[0].seen());
  EXPECT_TRUE(read->samples[1].seen());
  EXPECT_FALSE(read->samples[3].seen());
}

// Whatever is damaged: an error or a file whose numbers hang together.
TEST(C3dProperty, DamageIsAnErrorOrAFileThatHangsTogether) {
  Random random(20261125);
  int read_anyway = 0;
  for (int round = 0; round < 4000; ++round) {
    C3dWriteOptions options;
    options.processor = static_cast<C3dProcessor>(84 + round % 3);
    options.integers = round % 2 == 0;
    auto bytes = C3dWriter(options).write(example(3, 4));
    const int hits = 1 + static_cast<int>(random.next() % 4);
    for (int i = 0; i < hits; ++i) {
      bytes[random.next() % std::min<std::size_t>(bytes.size(), 900)] =
          static_cast<std::uint8_t>(random.next());
    }
    if (round % 5 == 0) bytes.resize(random.next() % bytes.size());
    const auto motion = read_c3d(bytes, "x.c3d");
    if (!motion) continue;
    ++read_anyway;
    ASSERT_EQ(motion->samples.size(), motion->frame_count * motion->labels.size());
    for (const C3dSample& sample : motion->samples) {
      for (const float coordinate : sample.position) ASSERT_TRUE(std::isfinite(coordinate));
    }
  }
  EXPECT_GT(read_anyway, 100);  // else nothing but refusals was looked at
}

}  // namespace
}  // namespace lintel::formats
