// Names for records that are the same every time they are made: UUIDs by name (RFC 9562).
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace lintel::secure {

using Uuid = std::array<std::uint8_t, 16>;

// The namespace of everything that Lintel names; drawn once at random (version 4), ours for ever.
inline constexpr Uuid kLintelNamespace = {0x4a, 0x8c, 0xb3, 0x28, 0xf3, 0x23, 0x4c, 0xb6,
                                          0xa7, 0xdc, 0x73, 0xab, 0x0e, 0xb2, 0x4c, 0x99};

// Version 5 (RFC 9562, section 5.5): SHA-1 over namespace and name. Same name, same UUID, on any
// machine and in any program. It hides nothing: whoever guesses the name can check it.
Uuid named_uuid(const Uuid& name_space, std::string_view name);

// "2ed6657d-e927-568b-95e1-2665a8aea6a2", lower case.
std::string to_string(const Uuid& uuid);

}  // namespace lintel::secure
