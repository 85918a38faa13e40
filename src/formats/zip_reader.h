// Zip archives in, from anybody: everything is checked before anything is unpacked.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/progress.h"
#include "base/result.h"

namespace lintel::formats {

struct ZipLimits {
  std::int64_t archive_bytes = std::int64_t{16} << 30;
  std::int64_t entries = 20'000;
  std::int64_t entry_bytes = std::int64_t{4} << 30;   // unpacked
  std::int64_t total_bytes = std::int64_t{16} << 30;  // unpacked
  // Unpacked against packed, of an entry of more than `ratio_from` bytes.
  std::int64_t ratio = 200;
  std::int64_t ratio_from = 1 << 20;
};

struct ZipEntry {
  std::string name;  // UTF-8, relative, with "/" between its parts
  std::int64_t bytes = 0;
};

// Is this a name we let in: 1 to 240 bytes of UTF-8 without control characters, relative, no empty
// part, no "." or "..", no backslash, no colon, no part that ends with a point or a space?
// Answers what is wrong with it, or an empty text.
std::string zip_name_fault(std::string_view name);

class ZipReader {
 public:
  // Reads the directory and checks all of it. Errors: NotFound, Io; Limit with the limit; Invalid
  // with the entry: bad name, the same name twice (case aside), a link or device, encrypted, not a
  // zip, cut.
  static Result<ZipReader> open(const std::filesystem::path& file, const ZipLimits& limits = {});
  ZipReader(ZipReader&&) noexcept;
  ZipReader& operator=(ZipReader&&) = delete;
  ~ZipReader();

  const std::vector<ZipEntry>& entries() const;  // files only, in the order of the archive
  const ZipEntry* find(std::string_view name) const;

  // In pieces. Fails as soon as more comes out than the directory said, and when the checksum is
  // another. Errors: NotFound, Invalid, Cancelled, those of the sink.
  using Sink = std::function<Result<void>(std::string_view)>;
  Result<void> read(const ZipEntry& entry, const Sink& sink, const WorkContext& work = {}) const;
  // A small one as text. Errors: also Limit.
  Result<std::string> read_text(const ZipEntry& entry, std::int64_t most_bytes) const;
  // Into a new file below `folder` under the name of the entry; answers its path.
  Result<std::filesystem::path> unpack(const ZipEntry& entry, const std::filesystem::path& folder,
                                       const WorkContext& work = {}) const;

 private:
  struct State;
  explicit ZipReader(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace lintel::formats
