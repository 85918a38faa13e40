// A folder of this process that goes away again.
#pragma once

#include <filesystem>

#include "base/result.h"

namespace lintel::app {

// Readable by the owner alone: health data passes through it.
class WorkFolder {
 public:
  static Result<WorkFolder> create();
  WorkFolder(WorkFolder&& other) noexcept;
  WorkFolder& operator=(WorkFolder&&) = delete;
  ~WorkFolder();
  const std::filesystem::path& path() const { return path_; }

 private:
  explicit WorkFolder(std::filesystem::path path) : path_(std::move(path)) {}
  std::filesystem::path path_;  // empty = given away
};

}  // namespace lintel::app
