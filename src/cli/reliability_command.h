// `lintel tests reliability`: arguments and printing.
#pragma once

#include <memory>

namespace CLI {
class App;
}

namespace lintel::cli {

struct ReliabilityArguments;

struct ReliabilityCommand {
  CLI::App* command = nullptr;
  std::shared_ptr<ReliabilityArguments> arguments;
};
// Adds the subcommand to `tests`. After a successful parse, if *command.command: run it for the
// exit status.
ReliabilityCommand add_reliability_command(CLI::App& tests);
int run_reliability_command(ReliabilityCommand& command);

}  // namespace lintel::cli
