#include "app/work_folder.h"

#include <utility>

#include "secure/random.h"

namespace lintel::app {

namespace fs = std::filesystem;

Result<WorkFolder> WorkFolder::create() {
  std::error_code code;
  const fs::path path = fs::temp_directory_path(code) / ("lintel-" + secure::random_id());
  if (!code) fs::create_directory(path, code);
  if (!code) fs::permissions(path, fs::perms::owner_all, code);
  if (code) {
    return fail(ErrorCode::Io, "no folder for temporary files can be made",
                "check the machine's temporary folder and its free space");
  }
  return WorkFolder(path);
}

WorkFolder::WorkFolder(WorkFolder&& other) noexcept
    : path_(std::exchange(other.path_, fs::path())) {}

WorkFolder::~WorkFolder() {
  std::error_code ignored;
  if (!path_.empty()) fs::remove_all(path_, ignored);
}

}  // namespace lintel::app
