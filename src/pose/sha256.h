// SHA-256 (FIPS 180-4), to check the network files before they are read.
#pragma once

#include <cstdint>
#include <span>
#include <string>

namespace lintel::pose {

// 64 lower-case hexadecimal digits.
std::string sha256_hex(std::span<const std::uint8_t> bytes);

}  // namespace lintel::pose
