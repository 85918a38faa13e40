// The `lintel` program: arguments in, exit status out.
#pragma once

#include <functional>
#include <optional>
#include <span>

namespace CLI {
class App;
}

namespace lintel::cli {

// Does what was asked for when one of its commands was parsed (exit status), else nothing.
using Runner = std::function<std::optional<int>()>;
// Adds commands to the program; the runner keeps what they were given.
using AddCommands = std::function<Runner(CLI::App& program)>;

// The commands of this folder and `more` (another face's). Exit status: 0, one of
// exit_status(ErrorCode), or 64 for a fault of the command line.
int run_program(int argc, char** argv, std::span<const AddCommands> more);

}  // namespace lintel::cli
