// SHA-256 (FIPS 180-4): checks network files before they are read, names clips by content.
#pragma once

#include <cstdint>
#include <filesystem>
#include <span>
#include <string>

#include "base/result.h"

namespace lintel::secure {

// 64 lower-case hexadecimal digits.
std::string sha256_hex(std::span<const std::uint8_t> bytes);

// The same of a file, read in pieces. Errors: NotFound, Io.
Result<std::string> sha256_of_file(const std::filesystem::path& file);

}  // namespace lintel::secure
