#include "kinematics/repetitions.h"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <limits>
#include <numbers>

#include "base/random.h"
#include "unit/kinematics/figure.h"

namespace lintel::kinematics {
namespace {

using testing::deg;

constexpr double kStanding = 0.92;  // [m]

// Builds hip height and knee flexion piece by piece; moves follow half a cosine.
class Script {
 public:
  explicit Script(double rate = 60) : rate_(rate) {}
  Script& hold(double seconds) { return move(depth_, seconds); }
  Script& move(double depth, double seconds) {  // share of the standing height
    const double from = depth_;
    const int steps = static_cast<int>(std::lround(seconds * rate_));
    for (int i = 0; i < steps; ++i) {
      const double u = 0.5 - 0.5 * std::cos(std::numbers::pi * i / steps);
      add(from + u * (depth - from));
    }
    depth_ = depth;
    return *this;
  }
  Script& squat(double depth, double down, double up, double pause = 0) {
    return move(depth, down).hold(pause).move(0, up);
  }
  Script& noise(double white, double sway, std::uint64_t seed) {
    Random random(seed);
    for (std::size_t i = 0; i < height.size(); ++i) {
      height[i] += random.normal(0, white) + sway * std::sin(2 * std::numbers::pi * 0.15 * time[i]);
      knee[i] += random.normal(0, deg(3));
    }
    return *this;
  }
  double now() const { return time.size() / rate_; }

  std::vector<double> time, height, knee;
  bool bends_knees = true;

  std::vector<RepetitionEvents> find(const RepetitionOptions& options = {}) const {
    const auto found = find_repetitions({time, height, knee}, options);
    EXPECT_TRUE(found.has_value());
    return found.value_or(std::vector<RepetitionEvents>{});
  }

 private:
  void add(double depth) {
    time.push_back(static_cast<double>(time.size()) / rate_);
    height.push_back(kStanding * (1 - depth));
    knee.push_back(bends_knees ? deg(5) + deg(220) * depth : deg(10));
  }
  double rate_;
  double depth_ = 0;
};

class AnyRate : public ::testing::TestWithParam<double> {};

TEST_P(AnyRate, FiveSquatsAreFiveWithTheirTimes) {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    Script s(GetParam());
    std::vector<double> bottoms;
    s.hold(1);
    for (int i = 0; i < 5; ++i) {
      bottoms.push_back(s.now() + 1.5);
      s.squat(0.55, 1.5, 1.2).hold(0.8);
    }
    s.noise(0.01, 0.01, seed);
    const auto found = s.find();
    ASSERT_EQ(found.size(), 5u) << "seed " << seed;
    for (std::size_t i = 0; i < 5; ++i) {
      EXPECT_EQ(found[i].outcome, RepetitionOutcome::Completed);
      // One centimetre of white noise on one point: the vertex of the parabola through 0.38 s of a
      // bottom that turns at 1.1 m/s^2 has a standard error of 0.027 s at 24 frames a second.
      EXPECT_NEAR(found[i].bottom_time, bottoms[i], GetParam() < 60 ? 0.10 : 0.06);
      EXPECT_NEAR(s.time[found[i].start_frame], bottoms[i] - 1.5, 0.25);
      EXPECT_NEAR(s.time[found[i].end_frame], bottoms[i] + 1.2, 0.25);
      EXPECT_NEAR(found[i].descent_duration + found[i].bottom_duration + found[i].ascent_duration,
                  s.time[found[i].end_frame] - s.time[found[i].start_frame], 1e-9);
      EXPECT_NEAR(found[i].lowest_hip_height, 0.45 * kStanding, 0.02);
    }
  }
}
INSTANTIATE_TEST_SUITE_P(Rates, AnyRate, ::testing::Values(24.0, 30.0, 60.0, 120.0, 240.0),
                         [](const auto& instance) {
                           return "at" + std::to_string(static_cast<int>(instance.param));
                         });

TEST(Repetitions, AreTheSameInLegLengths) {
  Script s;
  s.hold(1).squat(0.5, 1.4, 1.1).hold(1).squat(0.5, 1.4, 1.1).hold(1);
  Script scaled = s;
  for (double& h : scaled.height) h /= 0.83;
  const auto metres = s.find(), legs = scaled.find();
  ASSERT_EQ(metres.size(), 2u);
  ASSERT_EQ(legs.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ(metres[i].start_frame, legs[i].start_frame);
    EXPECT_EQ(metres[i].bottom_frame, legs[i].bottom_frame);
    EXPECT_EQ(metres[i].end_frame, legs[i].end_frame);
  }
}

TEST(Repetitions, RunBackwardsInTimeAreTheSameSquats) {
  Script s;
  s.hold(1).squat(0.5, 2.0, 1.0).hold(1.3).squat(0.45, 1.2, 1.6).hold(0.9);
  Script back = s;
  std::reverse(back.height.begin(), back.height.end());
  std::reverse(back.knee.begin(), back.knee.end());
  const auto forward = s.find(), backward = back.find();
  ASSERT_EQ(forward.size(), 2u);
  ASSERT_EQ(backward.size(), 2u);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_NEAR(s.time.back() - backward[1 - i].bottom_time, forward[i].bottom_time, 0.02);
  }
}

TEST(Repetitions, LeaveDipsAndSwayAndBendsOut) {
  Script dips;
  dips.hold(1).squat(0.12, 0.6, 0.6).hold(0.5).squat(0.15, 0.6, 0.6).hold(1).noise(0.01, 0.02, 2);
  EXPECT_TRUE(dips.find().empty());
  Script standing;
  standing.hold(8).noise(0.01, 0.03, 3);
  EXPECT_TRUE(standing.find().empty());
  Script bend;
  bend.bends_knees = false;
  bend.hold(1).squat(0.3, 1.5, 1.5).hold(1);  // hips lowered by leaning over, knees straight
  EXPECT_TRUE(bend.find().empty());
  Script mixed;
  mixed.hold(1)
      .squat(0.15, 0.5, 0.5)
      .hold(0.5)
      .squat(0.5, 1.5, 1.2)
      .hold(0.5)
      .squat(0.1, 0.4, 0.4)
      .hold(1);
  EXPECT_EQ(mixed.find().size(), 1u);
}

TEST(Repetitions, WithoutKneesCountByTheHipsAlone) {
  Script s;
  s.hold(1).squat(0.5, 1.5, 1.2).hold(1);
  const auto found = find_repetitions({s.time, s.height, {}});
  ASSERT_TRUE(found.has_value());
  EXPECT_EQ(found->size(), 1u);
  const std::vector<double> unknown(s.time.size(), std::numeric_limits<double>::quiet_NaN());
  EXPECT_EQ(find_repetitions({s.time, s.height, unknown})->size(), 1u);
}

TEST(Repetitions, CutByTheClipAreSaidToBeCut) {
  Script late;
  late.hold(1).squat(0.5, 1.5, 1.2).hold(1).move(0.5, 1.5).hold(0.2);
  const auto end = late.find();
  ASSERT_EQ(end.size(), 2u);
  EXPECT_EQ(end[0].outcome, RepetitionOutcome::Completed);
  EXPECT_EQ(end[1].outcome, RepetitionOutcome::CutOff);
  EXPECT_EQ(end[1].end_frame, late.time.size() - 1);

  Script early;
  early.squat(0.5, 1.5, 1.2).hold(1).squat(0.5, 1.5, 1.2).hold(1);
  const std::size_t skip = 70;  // starts on the way down
  early.time.erase(early.time.begin(), early.time.begin() + skip);
  early.height.erase(early.height.begin(), early.height.begin() + skip);
  early.knee.erase(early.knee.begin(), early.knee.begin() + skip);
  const auto begin = early.find();
  ASSERT_EQ(begin.size(), 2u);
  EXPECT_EQ(begin[0].outcome, RepetitionOutcome::CutOff);
  EXPECT_EQ(begin[0].start_frame, 0u);
  EXPECT_EQ(begin[1].outcome, RepetitionOutcome::Completed);
}

TEST(Repetitions, CutByALongLossOfTheBodyAreSaidToBeCut) {
  Script s;
  s.hold(1).squat(0.5, 1.5, 1.2).hold(2).squat(0.5, 1.5, 1.2).hold(1);
  for (std::size_t i = 0; i < s.time.size(); ++i) {
    if (s.time[i] > 2.6 && s.time[i] < 4.5) s.height[i] = std::numeric_limits<double>::quiet_NaN();
  }
  const auto found = s.find();
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[0].outcome, RepetitionOutcome::CutOff);
  EXPECT_EQ(found[1].outcome, RepetitionOutcome::Completed);
}

TEST(Repetitions, SurviveShortLosses) {
  Script s;
  s.hold(1).squat(0.5, 1.5, 1.2).hold(1);
  for (std::size_t i = 0; i < s.time.size(); ++i) {
    if (std::fmod(s.time[i], 0.7) < 0.2) s.height[i] = std::numeric_limits<double>::quiet_NaN();
  }
  const auto found = s.find();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].outcome, RepetitionOutcome::Completed);
  EXPECT_NEAR(found[0].bottom_time, 2.5, 0.08);
}

TEST(Repetitions, ThatSinkAgainOnTheWayUpHaveFailed) {
  Script s;
  s.hold(1).squat(0.5, 1.5, 1.2).hold(1);
  s.move(0.5, 1.5).move(0.22, 1.0).move(0.55, 1.0).hold(1);
  const auto found = s.find();
  ASSERT_EQ(found.size(), 2u);
  EXPECT_EQ(found[1].outcome, RepetitionOutcome::Failed);
  // The attempt ends where it turns, 2.5 s after its start at 4.7 s.
  EXPECT_NEAR(s.time[found[1].end_frame], 4.7 + 2.5, 0.15);
  EXPECT_NEAR(found[1].bottom_time, 4.7 + 1.5, 0.1);
}

TEST(Repetitions, ThatStayDownHaveFailed) {
  Script s;
  s.hold(1).move(0.5, 1.5).hold(6);
  const auto found = s.find();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].outcome, RepetitionOutcome::Failed);
}

TEST(Repetitions, ThatLoseTheBarHaveFailed) {
  Script s;
  s.hold(1).squat(0.5, 1.5, 1.2).hold(1).squat(0.5, 1.5, 1.2).hold(1);
  std::vector<double> bar(s.height);
  for (std::size_t i = 0; i < bar.size(); ++i) {
    bar[i] += s.time[i] > 6.6 ? std::max(-0.2, 1.0 - 4 * (s.time[i] - 6.6)) : 1.0;
  }
  const auto found = find_repetitions({s.time, s.height, s.knee, bar});
  ASSERT_TRUE(found.has_value());
  ASSERT_EQ(found->size(), 2u);
  EXPECT_EQ((*found)[0].outcome, RepetitionOutcome::Completed);
  EXPECT_EQ((*found)[1].outcome, RepetitionOutcome::Failed);
}

TEST(Repetitions, WithPausesReportThem) {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    Script s;
    s.hold(1).move(0.25, 0.8).hold(1.0).move(0.5, 0.8).hold(2.0).move(0, 1.2).hold(1);
    s.noise(0.005, 0.005, seed);
    const auto found = s.find();
    ASSERT_EQ(found.size(), 1u);
    ASSERT_EQ(found[0].pauses.size(), 2u) << "seed " << seed;
    EXPECT_NEAR(found[0].pauses[0].start, 1.8, 0.2);
    EXPECT_NEAR(found[0].pauses[0].duration, 1.0, 0.3);
    EXPECT_NEAR(found[0].pauses[1].start, 3.6, 0.2);
    EXPECT_NEAR(found[0].pauses[1].duration, 2.0, 0.3);
    EXPECT_NEAR(found[0].bottom_duration, 2.2, 0.3);
    EXPECT_GT(found[0].bottom_time, 3.4);
    EXPECT_LT(found[0].bottom_time, 5.8);
  }
}

TEST(Repetitions, WithoutAPauseReportNone) {
  Script s;
  s.hold(1).squat(0.5, 1.2, 1.0).hold(1);
  const auto found = s.find();
  ASSERT_EQ(found.size(), 1u);
  EXPECT_TRUE(found[0].pauses.empty());
}

TEST(Repetitions, KeepTheirTempo) {
  Script s;
  s.hold(1.5).squat(0.5, 4.0, 1.0).hold(1.5).squat(0.5, 0.8, 2.0).hold(1.5);
  const auto found = s.find();
  ASSERT_EQ(found.size(), 2u);
  // The descent lasts until the bottom band is entered, 2 cm above the lowest: from there on half a
  // cosine of 0.46 m takes acos(1 - 0.04 / 0.46) / pi = 0.134 of its time.
  EXPECT_NEAR(found[0].descent_duration, 4.0 * 0.866, 0.25);
  EXPECT_NEAR(found[0].ascent_duration, 1.0 * 0.866, 0.15);
  EXPECT_NEAR(found[1].descent_duration, 0.8 * 0.866, 0.15);
  EXPECT_NEAR(found[1].ascent_duration, 2.0 * 0.866, 0.2);
}

TEST(Repetitions, OfTooShortAClipAreNone) {
  for (std::size_t n = 0; n < 5; ++n) {
    std::vector<double> time, height(n, 0.9);
    for (std::size_t i = 0; i < n; ++i) time.push_back(0.1 * static_cast<double>(i));
    const auto found = find_repetitions({time, height, {}});
    ASSERT_TRUE(found.has_value());
    EXPECT_TRUE(found->empty());
  }
  const std::vector<double> time = {0, 1, 2, 3, 4, 5, 6};
  const std::vector<double> unknown(7, std::numeric_limits<double>::quiet_NaN());
  EXPECT_TRUE(find_repetitions({time, unknown, unknown})->empty());
}

TEST(Repetitions, RefuseBrokenTime) {
  const std::vector<double> time = {0, 1, 1, 2, 3, 4};
  const auto found = find_repetitions({time, std::vector<double>(6, 0.9), {}});
  ASSERT_FALSE(found.has_value());
  EXPECT_EQ(found.error().place.frame, 2);
  EXPECT_FALSE(find_repetitions({time, std::vector<double>(5, 0.9), {}}).has_value());
}

}  // namespace
}  // namespace lintel::kinematics
