// SHA-256 (FIPS 180-4): checks network files before they are read, names clips by content.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel::secure {

// 64 lower-case hexadecimal digits.
std::string sha256_hex(std::span<const std::uint8_t> bytes);

// The same of a file, read in pieces. Errors: NotFound, Io.
Result<std::string> sha256_of_file(const std::filesystem::path& file);

// The same over pieces that come one after the other.
class Sha256 {
 public:
  Sha256();
  Sha256(Sha256&&) noexcept;
  Sha256& operator=(Sha256&&) noexcept;
  ~Sha256();
  void add(std::string_view bytes);
  std::string hex();  // once, at the end

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace lintel::secure
