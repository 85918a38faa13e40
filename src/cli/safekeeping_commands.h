// `lintel backup make|check|restore|list` and `lintel records export|import|erase|check`.
#pragma once

#include "cli/program.h"

namespace lintel::cli {

Runner add_safekeeping_commands(CLI::App& program);

}  // namespace lintel::cli
