// A small text file from disk, for the readers of formats/.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::app {

// Errors, each with the file's name: NotFound (with `mend`), Limit, Io.
Result<std::string> read_text_file(const std::filesystem::path& file, std::uintmax_t largest_bytes,
                                   const std::string& mend);

enum class ExistingFile : std::uint8_t { Keep, Replace };

// Writes beside the target first, so that nothing half-written carries its name. Errors, each with
// the file's name: Conflict when it exists and is to be kept, Io.
Result<void> write_text_file(const std::filesystem::path& file, std::string_view bytes,
                             ExistingFile existing);

// Every fault of a file as one error: the first one's place, all in the message. Not empty.
Error joined_faults(const std::vector<Error>& faults);

}  // namespace lintel::app
