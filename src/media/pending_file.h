// A file that appears under its name only when it is whole. Internal.
#pragma once

#include <filesystem>
#include <string>

#include "base/result.h"

namespace lintel::media {

// Creates a hidden temporary file beside the target; commit() gives it the target's name in one
// step, the destructor removes it otherwise.
class PendingFile {
 public:
  // Errors: NotFound (no such folder), Invalid (the target is a folder), Denied, Io.
  static Result<PendingFile> create(const std::filesystem::path& target);
  PendingFile(PendingFile&& other) noexcept;
  PendingFile& operator=(PendingFile&& other) noexcept;
  ~PendingFile();

  const std::filesystem::path& path() const { return temporary_; }
  const std::filesystem::path& target() const { return target_; }
  // Writes the data to the disk, then renames. Error: Io.
  Result<void> commit();

 private:
  PendingFile() = default;
  void discard();
  std::filesystem::path target_;
  std::filesystem::path temporary_;  // empty = nothing to remove
};

}  // namespace lintel::media
