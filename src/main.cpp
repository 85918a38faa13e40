// The only place that knows all faces: the command line, and the server as one of its commands.
#include <vector>

#include "cli/interrupt.h"
#include "cli/program.h"

int main(int argc, char** argv) {
  lintel::cli::watch_interrupts();
  const std::vector<lintel::cli::AddCommands> more;
  return lintel::cli::run_program(argc, argv, more);
}
