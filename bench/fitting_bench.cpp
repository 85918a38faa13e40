// Time of the skeleton fit, as a ratio to the clip's length and per frame. Checks its answer once.
#include <benchmark/benchmark.h>

#include "fitting/fit.h"
#include "unit/fitting/scene.h"

namespace {

using namespace lintel::fitting;

// range(0): frames at 30 a second; range(1): frame rate.
void fit_clip(benchmark::State& state) {
  const testing::Lifter lifter;
  auto scene = testing::scene_at(5, 0.1);
  scene.rate = static_cast<double>(state.range(1));
  const double duration = static_cast<double>(state.range(0)) / 30.0;
  const auto filmed = testing::film_squat(lifter, scene, true, testing::Noise(), 1, duration);
  FitPriors priors = testing::priors_of(lifter, BarPosition::Overhead, true);
  priors.masses = testing::de_leva_men(80, 40);
  for (auto _ : state) {
    const auto result = fit_skeleton(filmed.clip, priors);
    if (!result || result->outcome != FitOutcome::Converged)
      state.SkipWithError("did not converge");
    const double off = (*result)[lintel::kinematics::Channel::TrunkInclination]
                           .value[61 * static_cast<std::size_t>(scene.rate) / 30] -
                       filmed.postures[61 * static_cast<std::size_t>(scene.rate) / 30].trunk;
    if (!(std::abs(off) < 0.15)) state.SkipWithError("wrong trunk inclination");
  }
  state.counters["clip_s_per_s"] =
      benchmark::Counter(duration, benchmark::Counter::kIsIterationInvariantRate);
  state.counters["frames_per_s"] = benchmark::Counter(
      static_cast<double>(filmed.times.size()), benchmark::Counter::kIsIterationInvariantRate);
}
BENCHMARK(fit_clip)
    ->Args({120, 30})
    ->Args({300, 30})
    ->Args({300, 240})
    ->Args({1800, 30})
    ->Unit(benchmark::kMillisecond)
    ->Iterations(1);

}  // namespace

BENCHMARK_MAIN();
