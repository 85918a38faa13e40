// `lintel worker`: takes jobs of a workplace until it is stopped.
#pragma once

#include "cli/program.h"

namespace lintel::cli {

Runner add_worker_command(CLI::App& program);

}  // namespace lintel::cli
