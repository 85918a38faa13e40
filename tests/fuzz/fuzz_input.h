// What every fuzz target needs.
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

// A broken promise ends the run, so that the fuzzer keeps the input.
inline void require(bool condition) {
  if (!condition) std::abort();
}

inline std::string_view text_of(const std::uint8_t* data, std::size_t size) {
  return {reinterpret_cast<const char*>(data), size};
}
