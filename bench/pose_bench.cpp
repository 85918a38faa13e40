// Milliseconds for one landmark call (crop from a 1080 x 1920 frame, network, refinement) and for
// one detector call, with one and two threads.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>

#include "pose/pose_estimator.h"

namespace {

using namespace lintel;
using namespace lintel::pose;

PoseEstimator make(Variant variant, int threads) {
  const auto models = find_models();
  if (!models) {
    std::cerr << describe(models.error()) << "\n";
    std::exit(exit_status(models.error().code));
  }
  auto made = PoseEstimator::create(*models, variant, threads);
  if (!made) {
    std::cerr << describe(made.error()) << "\n";
    std::exit(exit_status(made.error().code));
  }
  return std::move(*made);
}

// A frame of a phone held upright, with some structure so that no branch is a special case.
Image frame() {
  Image picture(1080, 1920);
  for (int y = 0; y < picture.height(); ++y) {
    for (int x = 0; x < picture.width(); ++x) {
      std::fill_n(picture.pixel(x, y), 3,
                  static_cast<std::uint8_t>((x / 7 * 31 + y / 5 * 17) % 256));
    }
  }
  return picture;
}

void landmarks(benchmark::State& state) {
  PoseEstimator estimator =
      make(static_cast<Variant>(state.range(0)), static_cast<int>(state.range(1)));
  const Image picture = frame();
  const Region region = region_from({540, 1000}, {620, 560});
  const auto first = estimator.landmarks(picture, region);
  for (auto _ : state) {
    auto result = estimator.landmarks(picture, region);
    // The answer is checked: the same each time.
    if (!result || result->next_center_px != first->next_center_px) {
      state.SkipWithError("the answer changed");
      break;
    }
  }
  state.SetLabel(std::string(variant_name(static_cast<Variant>(state.range(0)))) + ", " +
                 std::to_string(state.range(1)) + " threads");
}
BENCHMARK(landmarks)
    ->ArgsProduct({{0, 1, 2}, {1, 2}})
    ->Unit(benchmark::kMillisecond)
    ->UseRealTime();

void detector(benchmark::State& state) {
  PoseEstimator estimator = make(Variant::Lite, static_cast<int>(state.range(0)));
  const Image picture = frame();
  const auto first = estimator.detect(picture);
  for (auto _ : state) {
    auto result = estimator.detect(picture);
    if (!result || result->size() != first->size()) {
      state.SkipWithError("the answer changed");
      break;
    }
  }
  state.SetLabel(std::to_string(state.range(0)) + " threads");
}
BENCHMARK(detector)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

void load(benchmark::State& state) {
  for (auto _ : state) benchmark::DoNotOptimize(make(static_cast<Variant>(state.range(0)), 2));
}
BENCHMARK(load)->Arg(0)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->Iterations(3);

}  // namespace

BENCHMARK_MAIN();
