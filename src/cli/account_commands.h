// `lintel audit verify|list` and `lintel people list|add|reset|found`, for the person at the
// machine.
#pragma once

#include "cli/program.h"

namespace lintel::cli {

Runner add_account_commands(CLI::App& program);

}  // namespace lintel::cli
