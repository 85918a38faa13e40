// A folder of results that appears only when it is complete.
#pragma once

#include <filesystem>
#include <string_view>

#include "app/assess.h"
#include "base/result.h"

namespace lintel::app {

// Files are written into a hidden folder beside the target; commit() renames it. Without commit()
// the destructor removes it and the target is as it was.
class ResultFolder {
 public:
  // marker: the file by which a folder of these results is known; a folder without it is never
  // replaced. Errors: Conflict when the target exists and may not be replaced; Io.
  static Result<ResultFolder> create(const std::filesystem::path& target, Overwrite overwrite,
                                     std::string_view marker = "assessment.json");
  ResultFolder(ResultFolder&& other) noexcept;
  ResultFolder& operator=(ResultFolder&&) = delete;
  ~ResultFolder();

  const std::filesystem::path& path() const { return working_; }
  Result<void> write_text(std::string_view name, std::string_view text) const;
  Result<void> commit();

 private:
  ResultFolder(std::filesystem::path target, std::filesystem::path working)
      : target_(std::move(target)), working_(std::move(working)) {}
  std::filesystem::path target_;
  std::filesystem::path working_;  // empty = given away or committed
};

}  // namespace lintel::app
