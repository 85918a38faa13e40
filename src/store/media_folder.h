// Files named by their SHA-256: clips, pictures, pages. The same bytes are kept once.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::store {

struct StoredMedia {
  std::string sha256;
  std::int64_t bytes = 0;
};

// Thread-safe, also between processes: a file appears under its name only when it is complete and
// on disk (temporary file, fsync, rename, fsync of the folder).
class MediaFolder {
 public:
  static Result<MediaFolder> open(const std::filesystem::path& folder);

  // Copies a file in. Errors: NotFound, Io, Limit.
  Result<StoredMedia> add_file(const std::filesystem::path& file) const;
  Result<StoredMedia> add_bytes(std::string_view bytes) const;
  // Where the bytes are, after their digest was checked. Errors: NotFound; Invalid when the bytes
  // are no longer those of the name.
  Result<std::filesystem::path> find(std::string_view sha256) const;
  // The same without reading them (for ranges of a large clip that was checked lately).
  Result<std::filesystem::path> path_of(std::string_view sha256) const;

  Result<std::vector<StoredMedia>> list() const;
  // Removes what is not in `referenced` (sorted) and was written more than `grace_s` seconds ago,
  // and temporary files as old as that. Answers what was removed.
  Result<std::vector<StoredMedia>> collect_garbage(const std::vector<std::string>& referenced,
                                                   std::int64_t grace_s) const;
  // Removes these, but for any that was added within the last `grace_s` seconds. Answers what was
  // removed.
  Result<std::vector<StoredMedia>> remove_older(const std::vector<std::string>& digests,
                                                std::int64_t grace_s) const;

 private:
  explicit MediaFolder(std::filesystem::path folder) : folder_(std::move(folder)) {}
  std::filesystem::path folder_;
};

}  // namespace lintel::store
