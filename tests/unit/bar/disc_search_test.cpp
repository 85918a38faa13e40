#include "bar/disc_search.h"

#include <gtest/gtest.h>

#include "bar/disc_geometry.h"
#include "bar/disc_tracker.h"
#include "base/random.h"
#include "base/units.h"
#include "unit/bar/scene.h"

namespace lintel::bar {
namespace {

using bar_test::Scene;
using bar_test::SceneOptions;

DiscSearch around(double radius) {
  DiscSearch search;
  search.min_radius_px = 0.65 * radius;
  search.max_radius_px = 1.3 * radius;
  return search;
}

TEST(FindDiscs, FindsTheDiscWithoutAnyHint) {
  const auto drawn = Scene(SceneOptions{}).render({310, 300}, 1);
  const auto found = find_discs(drawn.image);
  ASSERT_FALSE(found.empty());
  bool there = false;
  for (const DiscCandidate& c : found)
    there |= (c.rim.ellipse.center_px - Eigen::Vector2d(310, 300)).norm() < 0.1 &&
             std::abs(c.rim.ellipse.mean_radius_px - 108) < 0.1;
  EXPECT_TRUE(there);
}

TEST(FindDiscs, FindsNoDiscInAGymWithoutOne) {
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    SceneOptions options;
    options.with_disc = false;
    options.texture = 6.0 * static_cast<double>(seed);
    options.noise = 2.0 * static_cast<double>(seed);
    options.seed = seed;
    const auto drawn = Scene(options).render({330, 350}, seed);
    // The clock has a radius of 45 px: outside of what a 108 px disc may be.
    EXPECT_TRUE(find_discs(drawn.image, around(108)).empty()) << "seed " << seed;
  }
}

TEST(FindDiscs, ReportsTheClockAsWhatItIsACircle) {
  SceneOptions options;
  options.with_disc = false;
  const auto drawn = Scene(options).render({330, 350}, 1);
  const auto found = find_discs(drawn.image);
  ASSERT_FALSE(found.empty());
  EXPECT_NEAR(found[0].rim.ellipse.mean_radius_px, 0.063 * 720, 0.2);
}

TEST(FindDiscs, FindsNothingInNoise) {
  Image image(400, 500);
  Random random(9);
  for (std::uint8_t& b : image.bytes()) b = static_cast<std::uint8_t>(random.next() % 256);
  EXPECT_TRUE(find_discs(image).empty());
  EXPECT_TRUE(find_discs(Image(400, 500)).empty());  // black
  EXPECT_TRUE(find_discs(Image()).empty());
  EXPECT_TRUE(find_discs(Image(3, 2)).empty());
}

TEST(FindDiscs, TellsNearFromFarDiscAndTheirOffsetGivesTheSignOfTheTurn) {
  for (const double degrees : {-20.0, 20.0}) {
    SceneOptions options;
    options.disc.turn = degrees * kRadiansPerDegree;
    const Eigen::Vector2d center(360, 330);
    const auto drawn = Scene(options).render(center, 2);
    const auto found = find_discs(drawn.image, around(108));
    DiscHint hint;
    hint.expected_radius_px = 100;  // nearer to the far disc's 85 than the truth is
    hint.wrist_px[0] = drawn.wrist;
    const auto near_index = choose_near_disc(found, hint);
    ASSERT_TRUE(near_index);
    const DiscCandidate& near_disc = found[*near_index];
    EXPECT_LT((near_disc.rim.ellipse.center_px - center).norm(), 0.2);
    const auto far_index = choose_far_disc(found, near_disc);
    ASSERT_TRUE(far_index);
    const auto yaw = yaw_from_disc_pair(near_disc.observation(), found[*far_index].observation(),
                                        360, 0.225, 1.31);
    ASSERT_TRUE(yaw);
    EXPECT_NEAR(yaw->value * kDegreesPerRadian, degrees, 1.0);
    const Estimate by_ratio = yaw_from_axis_ratio(near_disc.observation());
    EXPECT_NEAR(by_ratio.value * kDegreesPerRadian, 20, 0.5);
  }
}

TEST(FindDiscs, IsTheSameEveryTime) {
  const auto drawn = Scene(SceneOptions{}).render({310, 300}, 1);
  const auto a = find_discs(drawn.image, around(108)), b = find_discs(drawn.image, around(108));
  ASSERT_EQ(a.size(), b.size());
  for (std::size_t i = 0; i < a.size(); ++i)
    EXPECT_EQ(a[i].rim.ellipse.center_px, b[i].rim.ellipse.center_px);
}

}  // namespace
}  // namespace lintel::bar
