// The only place that knows all faces: the command line, and the server as one of its commands.
#include <vector>

#include "cli/interrupt.h"
#include "cli/program.h"
#include "server/serve_command.h"

int main(int argc, char** argv) {
  lintel::cli::watch_interrupts();
  const std::vector<lintel::cli::AddCommands> more = {[](CLI::App& program) {
    return lintel::server::add_serve_command(program, lintel::cli::interrupt_token());
  }};
  return lintel::cli::run_program(argc, argv, more);
}
