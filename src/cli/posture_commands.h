// `lintel explain`, `lintel whatif`, `lintel grip`: arguments and printing.
#pragma once

#include <memory>
#include <string>

#include "app/posture_commands.h"
#include "cli/command.h"

namespace CLI {
class App;
}

namespace lintel::cli {

// The arguments of one of the three commands. Must outlive the parsing.
struct PostureArguments {
  app::PostureRequest request;
  SeenOptions seen;
  PrintOptions printing;
  std::string athlete, drawing;
};

// Adds the three subcommands. After a successful parse call run_posture_command(): the exit status
// of the one that was named, nothing if none of them was.
struct PostureCommands {
  CLI::App* explain = nullptr;
  CLI::App* what_if = nullptr;
  CLI::App* grip = nullptr;
  std::unique_ptr<PostureArguments> arguments;
};
PostureCommands add_posture_commands(CLI::App& program);
bool is_posture_command(const PostureCommands& commands);
int run_posture_command(PostureCommands& commands);

}  // namespace lintel::cli
