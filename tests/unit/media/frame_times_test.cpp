#include "media/frame_times.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <optional>
#include <vector>

namespace lintel::media {
namespace {

constexpr double kTick = 1.0 / 600.0;
constexpr double kInterval = 1.0 / 30.0;  // 20 ticks

TEST(FrameTimes, CountFromTheFirstFrameNotFromZero) {
  FrameTimes times(kTick, kInterval);
  EXPECT_DOUBLE_EQ(times.add(6000).time_s, 0.0);
  EXPECT_NEAR(times.add(6020).time_s, kInterval, 1e-9);
  EXPECT_EQ(times.repaired_count(), 0);
}

TEST(FrameTimes, RepeatedStampMovesHalfAnIntervalAndTheNextTrueOneStillFits) {
  FrameTimes times(kTick, kInterval);
  times.add(0);
  times.add(20);
  const FrameTime repeated = times.add(20);
  EXPECT_TRUE(repeated.repaired);
  EXPECT_NEAR(repeated.time_s, 30 * kTick, 1e-9);
  const FrameTime next = times.add(40);
  EXPECT_FALSE(next.repaired);
  EXPECT_NEAR(next.time_s, 40 * kTick, 1e-9);
  EXPECT_EQ(times.repaired_count(), 1);
}

TEST(FrameTimes, MissingStampsAdvanceByTheNominalInterval) {
  FrameTimes times(kTick, kInterval);
  EXPECT_TRUE(times.add(std::nullopt).repaired);
  EXPECT_NEAR(times.add(std::nullopt).time_s, kInterval, 1e-9);
  EXPECT_NEAR(times.add(std::nullopt).time_s, 2 * kInterval, 1e-9);
  EXPECT_EQ(times.repaired_count(), 3);
}

TEST(FrameTimes, RestartedNumberingIsBridged) {
  FrameTimes times(kTick, kInterval);
  times.add(0);
  times.add(2000);
  EXPECT_NEAR(times.add(0).time_s, 2020 * kTick, 1e-9);   // starts again
  EXPECT_NEAR(times.add(20).time_s, 2040 * kTick, 1e-9);  // and goes on from there
  EXPECT_NEAR(times.add(std::numeric_limits<std::int64_t>::max()).time_s, 2060 * kTick, 1e-9);
  EXPECT_EQ(times.repaired_count(), 2);
}

TEST(FrameTimes, AlwaysIncreaseWhateverTheStamps) {
  FrameTimes times(kTick, 0.0);
  const std::vector<std::optional<std::int64_t>> stamps = {
      5,
      std::nullopt,
      5,
      4,
      std::numeric_limits<std::int64_t>::min() + 1,
      7,
      -300,
      std::nullopt,
      std::numeric_limits<std::int64_t>::max(),
      0,
      0,
      0,
      1'000'000,
      999'999};
  double last = -1.0;
  for (const auto& stamp : stamps) {
    const FrameTime time = times.add(stamp);
    EXPECT_TRUE(std::isfinite(time.time_s));
    EXPECT_GT(time.time_s, last);
    last = time.time_s;
  }
}

TEST(FrameTimes, TellSteadyFromVariableRate) {
  FrameTimes steady(kTick, kInterval);
  for (int i = 0; i < 10; ++i) steady.add(i * 20 + (i % 2));  // a phone's jitter of one tick
  EXPECT_FALSE(steady.variable_rate());
  FrameTimes variable(kTick, kInterval);
  for (const int stamp : {0, 20, 40, 80, 100}) variable.add(stamp);
  EXPECT_TRUE(variable.variable_rate());
  EXPECT_NEAR(variable.shortest_interval_s(), 20 * kTick, 1e-9);
  EXPECT_NEAR(variable.longest_interval_s(), 40 * kTick, 1e-9);
  EXPECT_NEAR(variable.mean_interval_s(), 25 * kTick, 1e-9);
}

}  // namespace
}  // namespace lintel::media
