// Paragraphs of the texts for a terminal.
#pragma once

#include <string>

namespace lintel::app {

inline constexpr std::size_t kTerminalWidth = 96;

// Breaks at spaces; further lines are set in by `indent`. Ends with a line feed.
std::string wrapped(const std::string& words, const std::string& first, const std::string& indent);

// The cautions, after an empty line.
std::string cautions_block();

}  // namespace lintel::app
