// Speed of the disc search and tracker on a drawn 720x1280 clip, one core.
// Budget: 2 ms for a frame while following; 30 ms for a frame that searches with a body's hint.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

#include <benchmark/benchmark.h>

#include "bar/disc_tracker.h"
#include "base/random.h"

namespace {

using lintel::Image;
using lintel::bar::DiscHint;
using lintel::bar::DiscTracker;

constexpr double kRadius = 108;

// Grey wall with noise, a darker disc with hub: enough edges for a fair load.
Image draw(const Eigen::Vector2d& center, std::uint64_t seed) {
  Image image(720, 1280);
  lintel::Random random(seed);
  for (int y = 0; y < image.height(); ++y) {
    for (int x = 0; x < image.width(); ++x) {
      const double d = std::hypot(x + 0.5 - center.x(), y + 0.5 - center.y());
      const double inside = std::clamp(kRadius - d + 0.5, 0.0, 1.0);
      const double hub = std::clamp(0.4 * kRadius - d + 0.5, 0.0, 1.0);
      const double post = x > 60 && x < 90 ? 60 : 0;
      const double noise = 4 * (random.uniform() + random.uniform() - 1);
      const double v = 180 - post - inside * (140 - post) + 90 * hub + noise;
      std::uint8_t* p = image.pixel(x, y);
      for (int c = 0; c < 3; ++c) p[c] = static_cast<std::uint8_t>(v + 5 * c);
    }
  }
  return image;
}

Eigen::Vector2d place(int frame) {
  return {330 + 10 * std::sin(0.2 * frame), 420 - 200 * std::cos(0.15 * frame)};
}

DiscHint hint_at(const Eigen::Vector2d& center) {
  DiscHint hint;
  hint.wrist_px[0] = center + Eigen::Vector2d(-20, 30);
  hint.shoulder_px = center + Eigen::Vector2d(0, 290);
  hint.hip_px = center + Eigen::Vector2d(-60, 520);
  hint.expected_radius_px = 1.06 * kRadius;
  return hint;
}

void follow(benchmark::State& state) {
  constexpr int kFrames = 42;
  std::vector<Image> frames;
  for (int i = 0; i < kFrames; ++i) frames.push_back(draw(place(i), static_cast<std::uint64_t>(i)));
  DiscTracker tracker;
  int frame = 0;
  tracker.track(frames[0], 0, hint_at(place(0)));
  for (auto _ : state) {
    ++frame;
    // There and back, so that the path has no jump.
    const int phase = frame % (2 * kFrames - 2);
    const int at = phase < kFrames ? phase : 2 * kFrames - 2 - phase;
    const auto seen =
        tracker.track(frames[static_cast<std::size_t>(at)], frame / 30.0, hint_at(place(at)));
    if (!seen || (seen->center_px.cast<double>() - place(at)).norm() > 0.5) {
      state.SkipWithError("lost the disc");
      break;
    }
  }
}
BENCHMARK(follow)->Unit(benchmark::kMillisecond);

void search_with_hint(benchmark::State& state) {
  const Image image = draw(place(3), 1);
  for (auto _ : state) {
    DiscTracker tracker;
    const auto seen = tracker.track(image, 0, hint_at(place(3)));
    if (!seen || (seen->center_px.cast<double>() - place(3)).norm() > 0.5) {
      state.SkipWithError("wrong disc");
      break;
    }
  }
}
BENCHMARK(search_with_hint)->Unit(benchmark::kMillisecond);

void find_in_whole_picture(benchmark::State& state) {
  const Image image = draw(place(3), 1);
  for (auto _ : state) {
    const auto found = lintel::bar::find_discs(image);
    if (found.empty()) {
      state.SkipWithError("nothing found");
      break;
    }
  }
}
BENCHMARK(find_in_whole_picture)->Unit(benchmark::kMillisecond);

}  // namespace

BENCHMARK_MAIN();
