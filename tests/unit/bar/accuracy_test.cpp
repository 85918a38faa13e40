// Accuracy of the disc's centre and radius on drawn pictures with known truth, as a table.
// The bars to beat are the measured behaviour of the plain circle search (450 mm disc, 1 px =
// 2.1 mm at radius 108): median, p90, max are 1.4 px, 2.0, 3 square on; 5 mm, 6, 7 at radius 50;
// 3 mm, 5, 6 with noise 8 and JPEG 40; 3 mm, 5, 34 with 15 px motion blur; 24 of 41 missed dark on
// dark; 13 mm, 18, 20 at 20 degrees. Source: the project's reference notes on pose networks,
// section 8, measured there on rendered clips.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "bar/disc_tracker.h"
#include "base/random.h"
#include "base/units.h"
#include "unit/bar/scene.h"

namespace lintel::bar {
namespace {

using bar_test::Drawn;
using bar_test::Scene;
using bar_test::SceneOptions;

struct Score {
  int frames = 0, missed = 0;
  std::vector<double> error_px;
  double radius_bias_px = 0;  // mean of semi-major minus truth
  double radius_scatter_px = 0;
  int covered = 0, coordinates = 0;  // truth within two standard errors
  double median() const { return at(0.5); }
  double p90() const { return at(0.9); }
  double max() const {
    return error_px.empty() ? 1e9 : *std::max_element(error_px.begin(), error_px.end());
  }
  double at(double share) const {
    if (error_px.empty()) return 1e9;
    std::vector<double> sorted = error_px;
    std::sort(sorted.begin(), sorted.end());
    return sorted[static_cast<std::size_t>(share * static_cast<double>(sorted.size() - 1) + 0.5)];
  }
  double coverage() const {
    return coordinates > 0 ? static_cast<double>(covered) / coordinates : 0;
  }
};

DiscHint hint_of(const Drawn& drawn, double radius, Random& random) {
  // Landmarks are a few pixels off, and body size gives the radius to about a tenth.
  const auto jitter = [&](const Eigen::Vector2d& p) {
    // One after the other: compilers differ in the order of arguments, and so would the scenes.
    const double down = random.normal();
    const double across = random.normal();
    return Eigen::Vector2d(p + 0.08 * radius * Eigen::Vector2d(across, down));
  };
  DiscHint hint;
  hint.shoulder_px = jitter(drawn.shoulder);
  hint.hip_px = jitter(drawn.hip);
  hint.wrist_px[0] = jitter(drawn.wrist);
  hint.expected_radius_px = radius * (1 + 0.08 * random.normal());
  return hint;
}

// Each frame on its own: a new search at a new place, no help from tracking.
Score measure(const char* name, const SceneOptions& options, int frames, double first_y,
              double last_y, double side = 0.45) {
  Score score;
  Random random(options.seed, 5);
  const Scene scene(options);
  const double r = options.disc.radius;
  std::vector<double> radii;
  for (int i = 0; i < frames; ++i) {
    const double t = frames > 1 ? static_cast<double>(i) / (frames - 1) : 0;
    const double down = random.uniform();
    const double across = 6 * random.normal();
    const Eigen::Vector2d center(side * options.width + across,
                                 first_y + t * (last_y - first_y) + down);
    const Drawn drawn = scene.render(center, static_cast<std::uint64_t>(i));
    DiscTracker tracker;
    const auto seen = tracker.track(drawn.image, 0, hint_of(drawn, r, random));
    ++score.frames;
    if (!seen) {
      ++score.missed;
      continue;
    }
    const Eigen::Vector2d off = seen->center_px.cast<double>() - center;
    score.error_px.push_back(off.norm());
    radii.push_back(seen->semi_major_px - r);
    for (int k = 0; k < 2; ++k) {
      ++score.coordinates;
      score.covered += std::abs(off(k)) <= 2 * seen->center_standard_error_px ? 1 : 0;
    }
  }
  for (const double v : radii) score.radius_bias_px += v / static_cast<double>(radii.size());
  for (const double v : radii)
    score.radius_scatter_px += (v - score.radius_bias_px) * (v - score.radius_bias_px);
  score.radius_scatter_px =
      std::sqrt(score.radius_scatter_px / std::max<double>(1, static_cast<double>(radii.size())));
  const double mm = 225 / r;
  std::printf(
      "%-34s %2d/%2d found | px %5.2f %5.2f %5.2f | mm %5.2f %5.2f %5.2f | radius %+5.2f +- "
      "%.2f px | 2 SE cover %3.0f %%\n",
      name, score.frames - score.missed, score.frames, score.median(), score.p90(), score.max(),
      score.median() * mm, score.p90() * mm, score.max() * mm, score.radius_bias_px,
      score.radius_scatter_px, 100 * score.coverage());
  return score;
}

SceneOptions at_radius(double radius) {
  SceneOptions options;
  options.disc.radius = radius;
  return options;
}

constexpr int kFrames = 13;

// Twice what was reached (rounded up), so that another compiler does not break the test.
struct Limits {
  double median_px, max_px, radius_bias_px;
};

void expect_within(const Score& score, const Limits& limits) {
  EXPECT_EQ(score.missed, 0);
  EXPECT_LE(score.median(), limits.median_px);
  EXPECT_LE(score.max(), limits.max_px);
  EXPECT_LE(std::abs(score.radius_bias_px), limits.radius_bias_px);
  EXPECT_GE(score.coverage(), 0.85);
}

TEST(DiscAccuracy, SquareCameraLargeDiscIsWithinAFractionOfAPixel) {
  expect_within(measure("square camera, radius 108", at_radius(108), kFrames, 200, 650),
                {0.05, 0.1, 0.05});
}

TEST(DiscAccuracy, MiddleAndSmallDiscsAreAsGoodInPixels) {
  for (const double r : {50.0, 30.0, 25.0}) {
    expect_within(measure(("radius " + std::to_string(static_cast<int>(r))).c_str(), at_radius(r),
                          kFrames, 300, 700),
                  {0.05, 0.15, 0.12});
  }
}

TEST(DiscAccuracy, NoiseAndCompressionCostLittle) {
  for (const double r : {108.0, 50.0, 30.0}) {
    SceneOptions options = at_radius(r);
    options.noise = 8;
    options.jpeg_quality = 40;
    const std::string name = "noise 8, JPEG 40, radius " + std::to_string(static_cast<int>(r));
    expect_within(measure(name.c_str(), options, kFrames, 300, 650), {0.1, 0.2, 0.15});
  }
}

TEST(DiscAccuracy, MotionBlurDoesNotMoveTheCentre) {
  SceneOptions options = at_radius(108);
  options.motion_blur_px = 15;
  // The vertical semi-axis grows a little: rim and lip melt together above and below.
  expect_within(measure("motion blur 15 px", options, kFrames, 200, 650), {0.1, 0.25, 0.6});
  options.noise = 5;
  options.disc.turn = 20 * kRadiansPerDegree;
  expect_within(measure("20 degrees and motion blur", options, kFrames, 200, 650), {0.1, 2.8, 0.6});
}

TEST(DiscAccuracy, DarkDiscOnADarkWallIsFound) {
  SceneOptions options = at_radius(108);
  options.wall = 48;
  options.texture = 3;
  options.disc.face = bar_test::grey(24);
  options.disc.rim = bar_test::grey(24);
  options.disc.lip = bar_test::grey(32);
  options.disc.hub = bar_test::grey(60);
  options.noise = 2.5;
  expect_within(measure("dark disc on dark wall", options, kFrames, 200, 650), {0.08, 0.2, 0.1});
}

TEST(DiscAccuracy, RedDiscOnAWallOfTheSameBrightnessIsFound) {
  SceneOptions options = at_radius(108);
  options.wall = 118;
  options.disc.face = options.disc.rim = bar_test::rgb(190, 60, 55);
  options.disc.lip = bar_test::rgb(205, 80, 70);
  options.jpeg_quality = 70;  // halves the resolution of colour
  expect_within(measure("red disc, wall as bright", options, kFrames, 200, 650), {0.15, 0.3, 0.12});
}

TEST(DiscAccuracy, TurnedCameraGivesAnEllipse) {
  SceneOptions options = at_radius(108);
  options.disc.turn = 20 * kRadiansPerDegree;
  expect_within(measure("20 degrees", options, kFrames, 200, 650), {0.05, 0.1, 0.05});
}

TEST(DiscAccuracy, HeadAndArmInFrontAreLeftOut) {
  SceneOptions options = at_radius(108);
  options.head_and_arm_in_front = true;
  expect_within(measure("head and arm in front", options, kFrames, 200, 650), {0.05, 0.1, 0.05});
}

TEST(DiscAccuracy, RimCutByTheFrame) {
  expect_within(measure("rim cut: centre 40 px from the top", at_radius(108), kFrames, 30, 50),
                {0.05, 0.15, 0.1});
  expect_within(measure("rim cut at the left side", at_radius(108), kFrames, 300, 500, 0.08),
                {0.05, 0.15, 0.1});
}

// Pictures whose anti-aliasing mixes encoded values (drawing libraries) instead of light shift the
// apparent edge: 0.16 px at worst for a black disc without any optical blur, a thousandth of a
// usual radius. Pictures from a camera (all tests above) mix light and have no such offset.
TEST(DiscAccuracy, RadiusBiasStaysSmallWhicheverWayTheEdgeWasMixed) {
  for (const double disc_level : {20.0, 90.0, 235.0}) {
    const double wall_level = disc_level > 200 ? 60 : 180;
    double worst = 0;
    for (int i = 0; i < 6; ++i) {
      const Eigen::Vector2d center(150.3 + 0.17 * i, 149.8 + 0.23 * i);
      const double r = 60 + 0.15 * i;
      Image image(300, 300);
      for (int y = 0; y < 300; ++y) {
        for (int x = 0; x < 300; ++x) {
          int count = 0;
          for (int k = 0; k < 64; ++k) {
            const Eigen::Vector2d p(x + (k % 8 + 0.5) / 8, y + (k / 8 + 0.5) / 8);
            count += (p - center).norm() < r ? 1 : 0;
          }
          const double v = wall_level + (disc_level - wall_level) * count / 64;
          std::uint8_t* out = image.pixel(x, y);
          out[0] = out[1] = out[2] = static_cast<std::uint8_t>(std::lround(v));
        }
      }
      const auto rim = refine_rim(image, circle({149, 152}, 62), RimOptions{});
      ASSERT_TRUE(rim);
      EXPECT_LT((rim->ellipse.center_px - center).norm(), 0.05);
      const double off = rim->ellipse.mean_radius_px - r;
      if (std::abs(off) > std::abs(worst)) worst = off;
    }
    std::printf("encoded mixing, disc %3.0f on %3.0f: radius %+.3f px\n", disc_level, wall_level,
                worst);
    EXPECT_LT(std::abs(worst), 0.2);
  }
}

}  // namespace
}  // namespace lintel::bar
