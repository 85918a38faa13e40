#include "bar/disc_tracker.h"

#include <cmath>
#include <cstdio>
#include <limits>
#include <numbers>

#include <gtest/gtest.h>

#include "base/random.h"
#include "base/units.h"
#include "unit/bar/scene.h"

namespace lintel::bar {
namespace {

using bar_test::Drawn;
using bar_test::Scene;
using bar_test::SceneOptions;

// Half the linear size of the accuracy scenes, for speed: radius 54 px, 1 m = 240 px.
SceneOptions small_scene() {
  SceneOptions options;
  options.width = 360;
  options.height = 640;
  options.disc.radius = 54;
  return options;
}

DiscHint hint_of(const Drawn& drawn, double radius) {
  DiscHint hint;
  hint.shoulder_px = drawn.shoulder;
  hint.hip_px = drawn.hip;
  hint.wrist_px[0] = drawn.wrist;
  hint.expected_radius_px = radius;
  return hint;
}

// A squat of 1 m bar travel in 2.4 s, with 3 cm of sway: peak speed 1.3 m/s.
Eigen::Vector2d squat_path(double t) {
  const double s = 0.5 * (1 - std::cos(2 * std::numbers::pi * t / 2.4));
  return {165 + 7 * std::sin(5 * t), 90 + 240 * s};
}

struct Case {
  double rate;
  double turn_deg;
  double blur_px;
};
class SquatSequence : public testing::TestWithParam<Case> {};

TEST_P(SquatSequence, IsFollowedWithoutASwapToFarDiscOrHub) {
  const Case c = GetParam();
  SceneOptions options = small_scene();
  options.disc.turn = c.turn_deg * kRadiansPerDegree;
  options.noise = 4;
  options.motion_blur_px = c.blur_px;
  const Scene scene(options);
  DiscTracker tracker;
  Random random(3);
  double time = 0, worst = 0;
  int seen_frames = 0, frames = 0;
  while (time < 1.6) {
    const Eigen::Vector2d center = squat_path(time);
    const Drawn drawn = scene.render(center, static_cast<std::uint64_t>(frames));
    const auto seen = tracker.track(drawn.image, time, hint_of(drawn, 54 * 1.08));
    ++frames;
    if (seen) {
      ++seen_frames;
      const double error = (seen->center_px.cast<double>() - center).norm();
      worst = std::max(worst, error);
      EXPECT_LT(error, 0.4) << "frame " << frames;
      EXPECT_NEAR(seen->semi_major_px, 54, 1.0) << "frame " << frames;
    }
    // Time stamps of a phone: uneven by a fifth.
    time += (1 + 0.2 * random.uniform(-1, 1)) / c.rate;
  }
  std::printf(
      "squat at %.0f frames/s, %.0f degrees, blur %.0f px: %d of %d frames, worst %.2f px\n",
      c.rate, c.turn_deg, c.blur_px, seen_frames, frames, worst);
  EXPECT_EQ(seen_frames, frames);
}
INSTANTIATE_TEST_SUITE_P(Rates, SquatSequence,
                         testing::Values(Case{30, 0, 0}, Case{60, 0, 0}, Case{30, 20, 0},
                                         Case{30, 20, 7}));

TEST(DiscTracker, LosesADiscThatLeavesThePictureAndTakesItUpAgain) {
  const Scene scene(small_scene());
  DiscTracker tracker;
  int wrong = 0, seen_outside = 0, seen_inside = 0, inside = 0;
  for (int i = 0; i < 60; ++i) {
    // Up and out at the top, back half a second later.
    const double y = i < 15 ? 120 - 14 * i : (i < 32 ? -120 : -120 + 14 * (i - 32));
    const Eigen::Vector2d center(170, y);
    const Drawn drawn = scene.render(center, static_cast<std::uint64_t>(i));
    const auto seen = tracker.track(drawn.image, i / 30.0, hint_of(drawn, 54));
    if (seen && (seen->center_px.cast<double>() - center).norm() > 1.5) ++wrong;
    if (y < -54) seen_outside += seen ? 1 : 0;
    if (y > 30) {
      ++inside;
      seen_inside += seen ? 1 : 0;
    }
  }
  EXPECT_EQ(wrong, 0);
  EXPECT_EQ(seen_outside, 0);
  EXPECT_GE(seen_inside, inside - 3);
}

TEST(DiscTracker, InventsNothingWhenThereIsNoDisc) {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    SceneOptions options = small_scene();
    options.with_disc = false;
    options.seed = seed;
    options.texture = 5.0 * static_cast<double>(seed);
    options.noise = 3.0 * static_cast<double>(seed);
    const Scene scene(options);
    DiscTracker tracker;
    for (int i = 0; i < 10; ++i) {
      const Drawn drawn = scene.render({165, 90.0 + 15 * i}, static_cast<std::uint64_t>(i));
      EXPECT_FALSE(tracker.track(drawn.image, i / 30.0, hint_of(drawn, 54))) << seed << " " << i;
    }
  }
}

TEST(DiscTracker, LeavesTheClockAloneEvenWhenItHasTheExpectedSize) {
  SceneOptions options = small_scene();
  options.with_disc = false;
  const Scene scene(options);
  DiscTracker tracker;
  for (int i = 0; i < 6; ++i) {
    const Drawn drawn = scene.render({110, 200}, static_cast<std::uint64_t>(i));
    DiscHint hint = hint_of(drawn, 0.063 * 360);  // the clock's radius, hands 174 px away
    EXPECT_FALSE(tracker.track(drawn.image, i / 30.0, hint));
  }
}

TEST(DiscTracker, WorksWithoutAnyHint) {
  const Scene scene(small_scene());
  const Eigen::Vector2d center(170, 150);
  DiscTracker tracker;
  const auto seen = tracker.track(scene.render(center, 1).image, 0, DiscHint{});
  ASSERT_TRUE(seen);
  EXPECT_LT((seen->center_px.cast<double>() - center).norm(), 0.2);
}

TEST(DiscTracker, DropsATrackThatTheHandsHaveLeft) {
  const Scene scene(small_scene());
  DiscTracker tracker;
  const Eigen::Vector2d center(170, 150);
  const Drawn drawn = scene.render(center, 1);
  DiscHint hint = hint_of(drawn, 54);
  ASSERT_TRUE(tracker.track(drawn.image, 0, hint));
  hint.wrist_px[0] = Eigen::Vector2d(170, 600);  // hands far below: this disc hangs on a rack
  int last_seen = 0;
  for (int i = 1; i < 12; ++i) {
    if (tracker.track(drawn.image, i / 30.0, hint)) last_seen = i;
  }
  EXPECT_LT(last_seen, 8);
}

TEST(DiscTracker, SurvivesBadInput) {
  const Scene scene(small_scene());
  const Drawn drawn = scene.render({170, 150}, 1);
  DiscTracker tracker;
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_FALSE(tracker.track(Image(), 0, DiscHint{}));
  EXPECT_FALSE(tracker.track(drawn.image, nan, DiscHint{}));
  DiscHint hint;
  hint.shoulder_px = Eigen::Vector2d(nan, nan);
  hint.wrist_px[0] = Eigen::Vector2d(nan, 3);
  hint.expected_radius_px = 54;
  EXPECT_TRUE(tracker.track(drawn.image, 0, hint));
  hint.expected_radius_px = 1e9;
  DiscTracker other;
  other.track(drawn.image, 0, hint);
  hint.expected_radius_px = -4;
  other.track(drawn.image, 0.03, hint);
  // Time running back starts over.
  EXPECT_TRUE(tracker.track(drawn.image, 5, hint_of(drawn, 54)));
  EXPECT_TRUE(tracker.track(drawn.image, 1, hint_of(drawn, 54)));
  // A picture of another size in mid-clip.
  tracker.track(Image(20, 20), 1.03, hint_of(drawn, 54));
}

TEST(SearchWindow, CoversOverheadBackAndHang) {
  DiscHint hint;
  hint.shoulder_px = Eigen::Vector2d(300, 600);
  hint.hip_px = Eigen::Vector2d(280, 850);
  const Window w = search_window(hint, 100, 720, 1280);
  EXPECT_LE(w.min_px.y(), 600 - 500);  // 5 radii over the shoulder
  EXPECT_GE(w.max_px.y(), 850 + 40);   // 0.4 radii under the hip
  EXPECT_LE(w.min_px.x(), 300 - 220);
  EXPECT_GE(w.max_px.x(), 300 + 220);
  const Window none = search_window(DiscHint{}, 100, 720, 1280);
  EXPECT_EQ(none.max_px, Eigen::Vector2d(720, 1280));
}

}  // namespace
}  // namespace lintel::bar
