#include "cli/program.h"

#include <exception>
#include <iostream>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>

#include "app/version.h"
#include "base/result.h"
#include "cli/account_commands.h"
#include "cli/clip_commands.h"
#include "cli/exchange_commands.h"
#include "cli/findings_commands.h"
#include "cli/plan_commands.h"
#include "cli/posture_commands.h"
#include "cli/progress_commands.h"
#include "cli/safekeeping_commands.h"
#include "cli/test_commands.h"
#include "cli/worker_command.h"

namespace lintel::cli {
namespace {

int run(int argc, char** argv, std::span<const AddCommands> more) {
  CLI::App program{"Lintel: measures and explains the squat under an overhead bar."};
  program.set_version_flag("--version", std::string("lintel ") + std::string(app::version()));
  program.require_subcommand(1);

  std::vector<Runner> runners;
  runners.push_back(add_clip_commands(program));
  runners.push_back(add_worker_command(program));
  runners.push_back(add_account_commands(program));
  runners.push_back(add_safekeeping_commands(program));
  PostureCommands posture = add_posture_commands(program);
  PlanCommands plan = add_plan_commands(program);
  FindingsCommand findings = add_findings_command(program);
  TestCommands tests = add_test_commands(program);
  ProgressCommand progress = add_progress_command(program);
  ExchangeCommands exchange = add_exchange_commands(program);
  for (const AddCommands& add : more) runners.push_back(add(program));

  try {
    program.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    const int status = program.exit(error);
    // 0 for --help and --version; every other fault of the command line is status 64.
    return status == 0 ? 0 : 64;
  }
  if (is_posture_command(posture)) return run_posture_command(posture);
  if (is_plan_command(plan)) return run_plan_command(plan);
  if (is_findings_command(findings)) return run_findings_command(findings);
  if (*progress.command) return run_progress_command(progress);
  if (*tests.tests) return run_test_command(tests);
  if (is_exchange_command(exchange)) return run_exchange_command(exchange);
  for (const Runner& runner : runners) {
    if (const std::optional<int> status = runner()) return *status;
  }
  return 64;
}

}  // namespace

int run_program(int argc, char** argv, std::span<const AddCommands> more) {
  try {
    return run(argc, argv, more);
  } catch (const std::exception& error) {
    std::cerr << "lintel: internal fault: " << error.what() << "\n";
    return exit_status(ErrorCode::Internal);
  }
}

}  // namespace lintel::cli
