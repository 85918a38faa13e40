// Randomness of the operating system (libsodium), for ids and secrets. Thread-safe.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "base/result.h"
#include "secure/uuid.h"

namespace lintel::secure {

void fill_random(std::span<std::uint8_t> bytes);

// Version 4 (RFC 9562, section 5.4): 122 random bits.
Uuid random_uuid();
// The same as text, lower case: the id of a new record.
std::string random_id();

// `bytes` random bytes as base64url without padding (RFC 4648, section 5): 32 bytes are 43 letters.
std::string random_token(std::size_t bytes = 32);

std::string base64url(std::span<const std::uint8_t> bytes);
// Errors: Invalid for padding, a letter outside the alphabet, or a length that cannot be.
Result<std::string> from_base64url(std::string_view text);

}  // namespace lintel::secure
