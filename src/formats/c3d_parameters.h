// The parameter section of a C3D file. Inside this module.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.h"
#include "formats/c3d.h"

namespace lintel::formats {

inline constexpr std::size_t kC3dBlock = 512;  // [bytes]

tl::unexpected<Error> c3d_fault(ErrorCode code, std::size_t byte, std::string message,
                                std::string mend);

// Numbers of one file; the caller keeps inside of `size()`.
class C3dBytes {
 public:
  C3dBytes(std::span<const std::uint8_t> bytes, C3dProcessor processor)
      : bytes_(bytes), processor_(processor) {}
  std::size_t size() const { return bytes_.size(); }
  C3dProcessor processor() const { return processor_; }
  int byte(std::size_t at) const { return bytes_[at]; }
  int signed_byte(std::size_t at) const { return static_cast<std::int8_t>(bytes_[at]); }
  int word(std::size_t at) const;  // unsigned, 0 to 65535
  int signed_word(std::size_t at) const { return static_cast<std::int16_t>(word(at)); }
  float real(std::size_t at) const;                            // may be anything that IEEE 754 has
  std::string text(std::size_t at, std::size_t length) const;  // valid UTF-8, trimmed

 private:
  std::span<const std::uint8_t> bytes_;
  C3dProcessor processor_;
};

struct C3dParameter {
  int group = 0;
  std::string name;             // upper case
  int type = 0;                 // -1 characters, 1 bytes, 2 integers, 4 floating point
  std::vector<int> dimensions;  // none = one number
  std::size_t at = 0;           // byte of the first element
  std::size_t count = 1;        // elements
};

class C3dParameters {
 public:
  // Reads from `start` (the section's first byte) up to `end` at most. Errors: Invalid.
  static Result<C3dParameters> read(const C3dBytes& bytes, std::size_t start, std::size_t end);
  const C3dParameter* find(std::string_view group, std::string_view name) const;
  // The n-th element of a number; nothing when the parameter or the element is not there, or it is
  // text. Integers count as unsigned.
  std::optional<double> number(std::string_view group, std::string_view name,
                               std::size_t element = 0) const;
  // Rows of characters; empty when it is not there.
  std::vector<std::string> texts(std::string_view group, std::string_view name) const;
  std::string text(std::string_view group, std::string_view name) const;

 private:
  explicit C3dParameters(const C3dBytes& bytes) : bytes_(bytes) {}
  Result<std::size_t> read_record(std::size_t at, std::size_t end);  // the next one, 0 = the last
  Result<void> read_parameter(int group, std::string name, std::size_t at, std::size_t end);

  C3dBytes bytes_;
  std::map<std::string, int, std::less<>> groups_;
  std::vector<C3dParameter> parameters_;
};

}  // namespace lintel::formats
