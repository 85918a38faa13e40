// `lintel serve`: arguments, start, what is printed, the end.
#pragma once

#include <functional>
#include <optional>
#include <stop_token>

namespace CLI {
class App;
}

namespace lintel::server {

// Adds the command; the runner answers an exit status when it was the one asked for. `stop` ends
// it.
std::function<std::optional<int>()> add_serve_command(CLI::App& program, std::stop_token stop);

}  // namespace lintel::server
