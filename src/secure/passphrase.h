// A passphrase in memory: not copied about, not printed, wiped when it goes.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel::secure {

class Passphrase {
 public:
  static constexpr std::size_t kShortest = 12;  // [bytes], of a new one
  static constexpr std::size_t kLongest = 1024;

  Passphrase() = default;
  explicit Passphrase(std::string_view text) : text_(text) {}
  Passphrase(const Passphrase&) = delete;
  Passphrase& operator=(const Passphrase&) = delete;
  Passphrase(Passphrase&& other) noexcept;
  Passphrase& operator=(Passphrase&& other) noexcept;
  ~Passphrase();

  std::string_view text() const { return text_; }
  bool empty() const { return text_.empty(); }

 private:
  void wipe();
  std::string text_;
};

// For a new file: 12 to 1024 bytes. Errors: Invalid.
Result<void> check_new_passphrase(const Passphrase& passphrase);

// The first line of a file. Errors: NotFound, Io; Denied when anybody but its owner may read it;
// Invalid when it is empty or too long.
Result<Passphrase> read_passphrase_file(const std::filesystem::path& file);

}  // namespace lintel::secure
