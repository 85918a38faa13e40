// The answers: a full explanation (exact shares, what-if with triples, 10,000 draws) on two
// threads, and how far the quick shares of a draw are from exact ones. Prints figures; nothing here
// passes or fails by time.
#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>

#include <benchmark/benchmark.h>

#include "jobs/thread_pool.h"
#include "reasoning/explain.h"
#include "support/reasoning_athletes.h"

namespace lintel {
namespace {

body::Athlete athlete() {
  body::Athlete a = test::ordinary_athlete(body::Sex::Female, 1.68);
  test::set_test(a, body::MobilityTest::AnkleDorsiflexion, 35);
  test::set_test(a, body::MobilityTest::ArmToWallTurnedOut, 12);
  return a;
}

reasoning::UncertainInput input() {
  const auto c = test::reasoning_case(athlete());
  return {c.body,   athlete().setup,           c.comparison.best,
          c.limits, test::degrees_of(40, 1.5), std::nullopt,
          0.0};
}

void FullExplanation(benchmark::State& state) {
  jobs::ThreadPool pool(static_cast<std::size_t>(state.range(0)));
  const body::Athlete a = athlete();
  for (auto _ : state) {
    auto result = reasoning::explain(a, test::seen_lean(40), {}, pool, {});
    benchmark::DoNotOptimize(result);
  }
  state.counters["draws"] = 10000;
}
BENCHMARK(FullExplanation)->Arg(1)->Arg(2)->Unit(benchmark::kMillisecond)->UseRealTime();

void ExactShares(benchmark::State& state) {
  const auto c = reasoning::mean_comparison(input());
  for (auto _ : state) {
    auto table = reasoning::evaluate_all(c);
    benchmark::DoNotOptimize(table);
  }
}
BENCHMARK(ExactShares)->Unit(benchmark::kMillisecond);

void OneDraw(benchmark::State& state) {
  const auto in = input();
  const auto mean = reasoning::mean_comparison(in);
  const auto table = reasoning::evaluate_all(mean).value();
  const reasoning::DrawShares shares(mean, table);
  std::uint64_t k = 0;
  for (auto _ : state) {
    auto result = shares.compute(reasoning::draw_comparison(in, 1, k++ % 500));
    benchmark::DoNotOptimize(result);
  }
}
BENCHMARK(OneDraw)->Unit(benchmark::kMicrosecond);

void WhatIfTable(benchmark::State& state) {
  const auto in = input();
  const auto c = test::reasoning_case(athlete());
  const reasoning::WhatIfInput w{in.body, in.today, in.limits.limits, c.allowed, 0.95, 0.5};
  for (auto _ : state) {
    auto table = reasoning::compute_what_if(w);
    benchmark::DoNotOptimize(table);
  }
}
BENCHMARK(WhatIfTable)->Unit(benchmark::kMillisecond);

// Mean and worst absolute difference of the quick shares from the exact ones of the same draw.
void print_accuracy() {
  const auto in = input();
  const auto mean = reasoning::mean_comparison(in);
  const auto table = reasoning::evaluate_all(mean).value();
  const reasoning::DrawShares quick(mean, table);
  constexpr std::uint64_t kDraws = 200;
  std::array<double, reasoning::kPhysicalFactorCount> sum{}, worst{};
  for (std::uint64_t k = 0; k < kDraws; ++k) {
    const auto draw = reasoning::draw_comparison(in, 9, k);
    const auto a = quick.compute(draw).value().shares;
    const auto b =
        reasoning::compute_shares(reasoning::evaluate_all(draw.comparison).value(), std::nullopt);
    for (std::size_t i = 0; i < sum.size(); ++i) {
      const double d = std::abs(a.parts[i] - b.parts[i]) * kDegreesPerRadian;
      sum[i] += d / kDraws;
      worst[i] = std::max(worst[i], d);
    }
  }
  std::printf("quick against exact shares, %llu draws, degrees\n",
              static_cast<unsigned long long>(kDraws));
  for (std::size_t i = 0; i < sum.size(); ++i) {
    std::printf("  %-12s mean %.3f  worst %.2f\n",
                std::string(reasoning::factor_name(static_cast<reasoning::Factor>(i))).c_str(),
                sum[i], worst[i]);
  }
}

}  // namespace
}  // namespace lintel

int main(int argc, char** argv) {
  benchmark::Initialize(&argc, argv);
  lintel::print_accuracy();
  benchmark::RunSpecifiedBenchmarks();
  return 0;
}
