// Zip archives out: a few texts and many files, nothing held in memory as a whole.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel::formats {

// Writes beside the target; commit() gives the archive its name in one step, the destructor removes
// it otherwise. Names are checked like those of zip_reader.h. All entries have the time that was
// given (local time of no zone: what was written is what is read).
class ZipWriter {
 public:
  // iso_time: "2026-03-09T07:05:30..." Errors: Conflict when the target exists; NotFound, Io.
  static Result<ZipWriter> create(const std::filesystem::path& target, std::string_view iso_time);
  ZipWriter(ZipWriter&&) noexcept;
  ZipWriter& operator=(ZipWriter&&) = delete;
  ~ZipWriter();

  // Errors: Invalid for a name that may not be or was used before; Io.
  Result<void> add_text(const std::string& name, std::string text);
  // The file is read at commit(). Already compressed content (clips, pictures) is stored as it is.
  enum class Packing { Deflate, Store };
  Result<void> add_file(const std::string& name, const std::filesystem::path& file,
                        Packing packing);
  Result<void> commit();

 private:
  struct State;
  explicit ZipWriter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace lintel::formats
