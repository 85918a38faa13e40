// `lintel tests list | show | check | enter | photo | reliability`: arguments and printing.
#pragma once

#include <memory>

namespace CLI {
class App;
}

namespace lintel::cli {

struct TestArguments;

struct TestCommands {
  CLI::App* tests = nullptr;
  std::shared_ptr<TestArguments> arguments;
};
// Adds `tests` with its subcommands. After a successful parse, if *commands.tests: run it for the
// exit status.
TestCommands add_test_commands(CLI::App& program);
int run_test_command(TestCommands& commands);

}  // namespace lintel::cli
