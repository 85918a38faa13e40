// `lintel progress`: arguments and printing.
#pragma once

#include <memory>

namespace CLI {
class App;
}

namespace lintel::cli {

struct ProgressArguments;

struct ProgressCommand {
  CLI::App* command = nullptr;
  std::shared_ptr<ProgressArguments> arguments;
};
ProgressCommand add_progress_command(CLI::App& program);
int run_progress_command(ProgressCommand& command);

}  // namespace lintel::cli
