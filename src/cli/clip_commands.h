// `lintel assess` and `lintel measure`: arguments and printing.
#pragma once

#include "cli/program.h"

namespace lintel::cli {

Runner add_clip_commands(CLI::App& program);

}  // namespace lintel::cli
