// Ctrl-C and SIGTERM ask the work to stop; a second time ends the program at once.
#pragma once

#include <stop_token>

namespace lintel::cli {

// Call once, first thing in main, before any thread starts.
void watch_interrupts();
std::stop_token interrupt_token();

}  // namespace lintel::cli
