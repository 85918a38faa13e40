// One athlete from a file.
#pragma once

#include <filesystem>

#include "base/result.h"
#include "body/athlete.h"

namespace lintel::app {

// Errors: NotFound, Io, Limit, and Invalid with every fault of the file in one message.
Result<body::Athlete> read_athlete_file(const std::filesystem::path& file);

}  // namespace lintel::app
