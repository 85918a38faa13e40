// `lintel plan` with `drills` and `drill`: arguments and printing.
#pragma once

#include <memory>
#include <string>

#include "app/plan_use_case.h"
#include "cli/command.h"

namespace CLI {
class App;
}

namespace lintel::cli {

struct PlanArguments {
  app::PlanRequest request;
  SeenOptions seen;
  PrintOptions printing;
  std::string athlete, tests, protocols, overrulings, history, output, goal_date;
  std::string paper = "a4";
  std::string units = "metric";
  double goal_deg = 0;
  int weeks = 8;
  bool overwrite = false;
  std::string drill, drawing;  // of `lintel plan drill`
};

struct PlanCommands {
  CLI::App* plan = nullptr;
  CLI::App* drills = nullptr;  // `lintel plan drills`
  CLI::App* drill = nullptr;   // `lintel plan drill ID`
  std::unique_ptr<PlanArguments> arguments;
};
PlanCommands add_plan_commands(CLI::App& program);
bool is_plan_command(const PlanCommands& commands);
int run_plan_command(PlanCommands& commands);

}  // namespace lintel::cli
