#include "formats/tar_stream.h"

#include <algorithm>
#include <cstddef>
#include <cstdio>
#include <cstring>
#include <optional>

#include "formats/zip_reader.h"

namespace lintel::formats {
namespace {

constexpr std::size_t kBlock = 512;
constexpr std::size_t kNameBytes = 100;
constexpr std::size_t kSizeAt = 124, kSizeBytes = 12;
constexpr std::size_t kChecksumAt = 148, kChecksumBytes = 8;
constexpr std::size_t kTypeAt = 156;
constexpr std::size_t kMagicAt = 257;
constexpr std::string_view kMagic{
    "ustar\0"
    "00",
    8};
constexpr std::int64_t kLargestOctal = (std::int64_t{1} << 33) - 1;

void put_octal(std::string& block, std::size_t at, std::size_t width, std::int64_t value) {
  char text[24];
  std::snprintf(text, sizeof text, "%0*llo", static_cast<int>(width - 1),
                static_cast<unsigned long long>(value));
  std::memcpy(block.data() + at, text, width - 1);
}

void put_size(std::string& block, std::int64_t bytes) {
  if (bytes <= kLargestOctal) return put_octal(block, kSizeAt, kSizeBytes, bytes);
  block[kSizeAt] = static_cast<char>(0x80);
  for (std::size_t i = 0; i < 8; ++i) {
    block[kSizeAt + kSizeBytes - 1 - i] = static_cast<char>(bytes >> (8 * i));
  }
}

// Sum of all bytes of a header, its own field counted as spaces.
std::int64_t checksum(std::string_view block) {
  std::int64_t sum = 0;
  for (std::size_t i = 0; i < kBlock; ++i) {
    const bool own = i >= kChecksumAt && i < kChecksumAt + kChecksumBytes;
    sum += own ? ' ' : static_cast<unsigned char>(block[i]);
  }
  return sum;
}

std::optional<std::int64_t> read_octal(std::string_view field) {
  std::int64_t value = 0;
  std::size_t digits = 0;
  for (const char letter : field) {
    if (letter == '\0' || letter == ' ') break;
    if (letter < '0' || letter > '7') return std::nullopt;
    value = value * 8 + (letter - '0');
    ++digits;
  }
  if (digits == 0) return std::nullopt;
  return value;
}

std::optional<std::int64_t> read_size(std::string_view field) {
  if (static_cast<unsigned char>(field[0]) != 0x80) return read_octal(field);
  std::uint64_t value = 0;
  for (std::size_t i = 1; i < kSizeBytes; ++i) {
    if (value >> 55 != 0) return std::nullopt;
    value = value << 8 | static_cast<unsigned char>(field[i]);
  }
  return static_cast<std::int64_t>(value);
}

Error stream_error(std::string message) {
  return Error{ErrorCode::Invalid, std::move(message), {}, "take another copy of this backup", {}};
}

}  // namespace

Result<std::string> tar_header(const TarEntry& entry, std::int64_t unix_time) {
  std::string fault = zip_name_fault(entry.name);
  if (fault.empty() && entry.name.size() > kNameBytes) fault = "is longer than 100 bytes";
  if (!fault.empty()) {
    return fail(ErrorCode::Invalid, "the name \"" + entry.name + "\" of an entry " + fault);
  }
  std::string block(kBlock, '\0');
  std::copy(entry.name.begin(), entry.name.end(), block.begin());
  put_octal(block, 100, 8, 0600);
  put_octal(block, 108, 8, 0);
  put_octal(block, 116, 8, 0);
  put_size(block, entry.bytes);
  put_octal(block, 136, 12, std::max<std::int64_t>(unix_time, 0));
  block[kTypeAt] = '0';
  std::copy(kMagic.begin(), kMagic.end(), block.begin() + kMagicAt);
  put_octal(block, kChecksumAt, 7, checksum(block));
  block[kChecksumAt + 7] = ' ';
  return block;
}

std::string tar_padding(std::int64_t bytes) {
  const auto over = static_cast<std::size_t>(bytes % static_cast<std::int64_t>(kBlock));
  return std::string(over == 0 ? 0 : kBlock - over, '\0');
}

std::string tar_end() {
  return std::string(2 * kBlock, '\0');
}

Result<void> TarParser::take_block() {
  if (block_.find_first_not_of('\0') == std::string::npos) {
    ++empty_blocks_;
    return {};
  }
  if (empty_blocks_ > 0) return fail(stream_error("an entry stands behind the end of the archive"));
  const std::string_view block(block_);
  const std::optional<std::int64_t> sum = read_octal(block.substr(kChecksumAt, kChecksumBytes));
  if (block.substr(kMagicAt, kMagic.size()) != kMagic || !sum || *sum != checksum(block)) {
    return fail(stream_error("the archive inside is not one of ours: a header is wrong"));
  }
  TarEntry entry;
  const std::string_view name = block.substr(0, kNameBytes);
  entry.name = name.substr(0, name.find('\0'));
  const std::optional<std::int64_t> size = read_size(block.substr(kSizeAt, kSizeBytes));
  const std::string fault = zip_name_fault(entry.name);
  if (!size || block[kTypeAt] != '0' || !fault.empty()) {
    return fail(stream_error("the archive inside has an entry that " +
                             (fault.empty() ? "is no plain file" : fault)));
  }
  entry.bytes = *size;
  left_ = *size;
  padding_ = static_cast<std::int64_t>(tar_padding(*size).size());
  inside_ = true;
  LINTEL_TRY_VOID(handlers_.begin(entry));
  return finish_entry_if_complete();
}

Result<void> TarParser::finish_entry_if_complete() {
  if (!inside_ || left_ > 0) return {};
  inside_ = false;
  return handlers_.end();
}

Result<void> TarParser::feed(std::string_view bytes) {
  while (!bytes.empty()) {
    if (left_ > 0) {
      const std::size_t taken = std::min(bytes.size(), static_cast<std::size_t>(left_));
      LINTEL_TRY_VOID(handlers_.data(bytes.substr(0, taken)));
      bytes.remove_prefix(taken);
      left_ -= static_cast<std::int64_t>(taken);
      LINTEL_TRY_VOID(finish_entry_if_complete());
      continue;
    }
    if (padding_ > 0) {
      const std::size_t taken = std::min(bytes.size(), static_cast<std::size_t>(padding_));
      bytes.remove_prefix(taken);
      padding_ -= static_cast<std::int64_t>(taken);
      continue;
    }
    const std::size_t taken = std::min(bytes.size(), kBlock - block_.size());
    block_ += bytes.substr(0, taken);
    bytes.remove_prefix(taken);
    if (block_.size() < kBlock) break;
    LINTEL_TRY_VOID(take_block());
    block_.clear();
  }
  return {};
}

Result<void> TarParser::finish() const {
  if (!inside_ && left_ == 0 && padding_ == 0 && block_.empty() && empty_blocks_ >= 2) return {};
  return fail(stream_error("the archive inside ends too early"));
}

}  // namespace lintel::formats
