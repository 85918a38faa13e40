// What a slider waits for: one what-if from the text of the question to the text of the answer,
// without the network. The page allows 50 ms with it.
#include <benchmark/benchmark.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "app/questions.h"

namespace lintel {
namespace {

std::string question(double heel_cm, bool observed) {
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/examples/skarnholm/athlete.json");
  nlohmann::json athlete = nlohmann::json::parse(file);
  athlete["tests"] = {{"knee_to_wall_left_cm", 6.5}, {"knee_to_wall_right_cm", 6.0}};
  nlohmann::json out = {{"athlete", athlete},
                        {"changes",
                         {{{"lever", "heel"}, {"to", heel_cm}, {"unit", "cm"}},
                          {{"lever", "stance"}, {"to", 40}, {"unit", "cm"}}}}};
  if (observed) out["observed_deg"] = 45;
  return out.dump();
}

void what_if(benchmark::State& state) {
  app::Caller caller;
  caller.person = "p";
  caller.organization = "o";
  caller.role = app::Role::Practitioner;
  std::vector<std::string> questions;
  for (int i = 0; i <= 12; ++i) questions.push_back(question(0.1 * i, state.range(0) != 0));
  std::size_t next = 0;
  for (auto _ : state) {
    app::Faults faults;
    auto answer = app::ask_what_if(caller, questions[next++ % questions.size()], faults);
    if (!answer) state.SkipWithError(answer.error().message.c_str());
    benchmark::DoNotOptimize(answer);
  }
}
BENCHMARK(what_if)->Arg(0)->Arg(1)->ArgName("observed")->Unit(benchmark::kMillisecond);

}  // namespace
}  // namespace lintel

BENCHMARK_MAIN();
