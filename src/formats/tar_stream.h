// Many files as one stream of bytes: POSIX ustar (IEEE Std 1003.1, pax utility), which any `tar`
// reads. Written and read front to back; for archives that only we make (backups).
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel::formats {

struct TarEntry {
  std::string name;  // at most 100 bytes, as zip_name_fault allows
  std::int64_t bytes = 0;
};

// The block before the bytes of a file. A size of 8 GiB and more is written in base 256, as GNU tar
// does. Errors: Invalid for a name.
Result<std::string> tar_header(const TarEntry& entry, std::int64_t unix_time);
std::string tar_padding(std::int64_t bytes);  // zeros up to the next block, behind the bytes
std::string tar_end();                        // two blocks of zeros

struct TarHandlers {
  std::function<Result<void>(const TarEntry&)> begin;
  std::function<Result<void>(std::string_view)> data;  // zero or more times
  std::function<Result<void>()> end;
};

// Takes the stream in pieces of any length. Strict: plain files only.
class TarParser {
 public:
  explicit TarParser(TarHandlers handlers) : handlers_(std::move(handlers)) {}
  // Errors: Invalid for a block that is no header; those of the handlers.
  Result<void> feed(std::string_view bytes);
  // Errors: Invalid when the end was not reached.
  Result<void> finish() const;

 private:
  Result<void> take_block();
  Result<void> finish_entry_if_complete();

  TarHandlers handlers_;
  std::string block_;         // not yet whole header
  std::int64_t left_ = 0;     // of the entry's bytes
  std::int64_t padding_ = 0;  // behind them
  bool inside_ = false;       // an entry was begun and not ended
  int empty_blocks_ = 0;
};

}  // namespace lintel::formats
