// One posture solve, warm and cold, beside Ipopt on the same problem. Compare ratios of one run.
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <vector>

#include <benchmark/benchmark.h>

#include "posture/posture.h"
#include "posture/problem.h"
#include "posture/solver.h"
#include "support/posture_population.h"
#ifdef LINTEL_HAVE_IPOPT
#include "support/ipopt_posture.h"
#endif

namespace lintel::posture {
namespace {

// Neighbours as in a Monte Carlo: limits moved by a test's error, setup by millimetres.
struct Neighbours {
  std::vector<Model> models;
  std::vector<Solution> near;  // of the unmoved model
};

const Neighbours& neighbours() {
  static const Neighbours kNeighbours = [] {
    Neighbours n;
    for (std::uint64_t i = 0; n.models.size() < 64; ++i) {
      const Model base = test::random_posture_model(81, i);
      const Solution s = solve_most_upright(base);
      if (s.outcome != Outcome::Solved) continue;
      Random random(82, i);
      Limits limits = base.limits();
      for (int k = 0; k < kLimitCount; ++k) {
        const auto limit = static_cast<Limit>(k);
        if (limit == Limit::ThighReach || !std::isfinite(limits[limit].edge)) continue;
        limits[limit].edge += is_length(limit) ? random.normal(0.0, 0.002)
                                               : random.normal(0.0, 1.5) * kRadiansPerDegree;
      }
      body::Setup setup = base.setup();
      setup.stance_width += random.normal(0.0, 0.005);
      auto moved = Model::create(base.body(), setup, limits);
      if (!moved) continue;
      if (solve_most_upright(*moved, {}, &s.warm_start).outcome != Outcome::Solved) continue;
      n.models.push_back(*moved);
      n.near.push_back(s);
    }
    return n;
  }();
  return kNeighbours;
}

void warm_solve(benchmark::State& state) {
  const Neighbours& n = neighbours();
  // A wrong answer fails the benchmark.
  for (std::size_t i = 0; i < n.models.size(); ++i) {
    const Solution warm = solve_most_upright(n.models[i], {}, &n.near[i].warm_start);
    const Solution cold = solve_most_upright(n.models[i]);
    if (warm.objective > cold.objective + 1e-6) {
      std::cerr << "note: case " << i << " has a better optimum far away\n";
    }
  }
  std::size_t i = 0;
  double iterations = 0;
  for (auto _ : state) {
    const Solution s = solve_most_upright(n.models[i], {}, &n.near[i].warm_start);
    benchmark::DoNotOptimize(s.objective);
    iterations += s.iterations;
    i = (i + 1) % n.models.size();
  }
  state.counters["iterations"] = benchmark::Counter(iterations, benchmark::Counter::kAvgIterations);
}
BENCHMARK(warm_solve)->Unit(benchmark::kMicrosecond);

void cold_solve(benchmark::State& state) {
  const Neighbours& n = neighbours();
  std::size_t i = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(solve_most_upright(n.models[i]).objective);
    i = (i + 1) % n.models.size();
  }
}
BENCHMARK(cold_solve)->Unit(benchmark::kMicrosecond);

void warm_habitual(benchmark::State& state) {
  const Neighbours& n = neighbours();
  std::vector<WarmStart> starts;
  for (const Model& m : n.models) starts.push_back(solve_habitual(m).warm_start);
  for (auto& start : starts) {
    for (double& x : start.coordinates) x += 0.005;
  }
  std::size_t i = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(solve_habitual(n.models[i], {}, &starts[i]).objective);
    i = (i + 1) % n.models.size();
  }
}
BENCHMARK(warm_habitual)->Unit(benchmark::kMicrosecond);

void evaluate_values_and_derivatives(benchmark::State& state) {
  const Model& model = neighbours().models.front();
  const auto problem = make_problem(model, most_upright_weights(), make_inputs<double>(model));
  Point point;
  point.x = neighbours().near.front().posture.coordinates;
  for (auto _ : state) {
    point.x[0] += 1e-12;
    evaluate_point(problem, point);
    benchmark::DoNotOptimize(point.gradient.data());
  }
}
BENCHMARK(evaluate_values_and_derivatives);

void hessian(benchmark::State& state) {
  const Model& model = neighbours().models.front();
  const auto problem = make_problem(model, most_upright_weights(), make_inputs<double>(model));
  Point point;
  point.x = neighbours().near.front().posture.coordinates;
  evaluate_point(problem, point);
  for (auto _ : state) benchmark::DoNotOptimize(compute_hessian(problem, point, {}, 1.0));
}
BENCHMARK(hessian);

void sensitivities(benchmark::State& state) {
  const Model& model = neighbours().models.front();
  const Solution s = solve_most_upright(model);
  for (auto _ : state) benchmark::DoNotOptimize(compute_sensitivities(model, s));
}
BENCHMARK(sensitivities)->Unit(benchmark::kMicrosecond);

void create_model(benchmark::State& state) {
  const Model& model = neighbours().models.front();
  for (auto _ : state) {
    benchmark::DoNotOptimize(Model::create(model.body(), model.setup(), model.limits()));
  }
}
BENCHMARK(create_model)->Unit(benchmark::kMicrosecond);

#ifdef LINTEL_HAVE_IPOPT
void ipopt(benchmark::State& state, test::IpoptHessian hessian) {
  const Neighbours& n = neighbours();
  test::IpoptPosture solver(hessian);
  for (std::size_t i = 0; i < n.models.size(); ++i) {
    const auto theirs =
        solver.solve(n.models[i], most_upright_weights(), n.near[i].posture.coordinates);
    const Solution ours = solve_most_upright(n.models[i], {}, &n.near[i].warm_start);
    if (theirs.solved && ours.objective > theirs.objective + 1e-6) {
      state.SkipWithError("the optima differ");
      return;
    }
  }
  std::size_t i = 0;
  for (auto _ : state) {
    benchmark::DoNotOptimize(
        solver.solve(n.models[i], most_upright_weights(), n.near[i].posture.coordinates).objective);
    i = (i + 1) % n.models.size();
  }
}
BENCHMARK_CAPTURE(ipopt, exact_hessian, test::IpoptHessian::Exact)->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(ipopt, limited_memory, test::IpoptHessian::LimitedMemory)
    ->Unit(benchmark::kMicrosecond);
#endif

}  // namespace
}  // namespace lintel::posture

BENCHMARK_MAIN();
