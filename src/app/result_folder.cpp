#include "app/result_folder.h"

#include <unistd.h>
#include <cstdio>
#include <fstream>

namespace lintel::app {
namespace {

Error io_error(const std::filesystem::path& path, const std::string& what) {
  Error error{
      ErrorCode::Io, what, {}, "check that the folder is writable and the disk not full", {}};
  error.with_file(path.filename().string());
  return error;
}

}  // namespace

Result<ResultFolder> ResultFolder::create(const std::filesystem::path& target, Overwrite overwrite,
                                          std::string_view marker) {
  std::error_code code;
  std::filesystem::path clean = std::filesystem::absolute(target, code).lexically_normal();
  if (clean.filename().empty()) clean = clean.parent_path();
  if (std::filesystem::exists(clean, code)) {
    const bool empty_folder =
        std::filesystem::is_directory(clean, code) && std::filesystem::is_empty(clean, code);
    if (!std::filesystem::is_directory(clean, code)) {
      return fail(Error{
          ErrorCode::Conflict,
          "the place for the results is a file",
          {},
          "name another folder with --out",
          {}}.with_file(clean.filename().string()));
    }
    if (!empty_folder && overwrite == Overwrite::No) {
      return fail(Error{
          ErrorCode::Conflict,
          "the results folder exists already",
          {},
          "name another folder with --out, or replace it with --overwrite",
          {}}.with_file(clean.filename().string()));
    }
    // Never sweep away a folder that this program did not write.
    if (!empty_folder && !std::filesystem::exists(clean / std::string(marker), code)) {
      return fail(Error{
          ErrorCode::Conflict,
          "the folder holds other things than the results to be replaced",
          {},
          "name another folder with --out",
          {}}.with_file(clean.filename().string()));
    }
  }
  std::filesystem::create_directories(clean.parent_path(), code);
  if (code) return fail(io_error(clean.parent_path(), "the folder cannot be made"));
  const std::filesystem::path working =
      clean.parent_path() / ("." + clean.filename().string() + ".part-" + std::to_string(getpid()));
  std::filesystem::remove_all(working, code);
  if (!std::filesystem::create_directory(working, code)) {
    return fail(io_error(working, "the folder cannot be made"));
  }
  return ResultFolder(clean, working);
}

ResultFolder::ResultFolder(ResultFolder&& other) noexcept
    : target_(std::move(other.target_)), working_(std::exchange(other.working_, {})) {}

ResultFolder::~ResultFolder() {
  if (working_.empty()) return;
  std::error_code code;
  std::filesystem::remove_all(working_, code);
}

Result<void> ResultFolder::write_text(std::string_view name, std::string_view text) const {
  const std::filesystem::path file = working_ / std::string(name);
  std::ofstream out(file, std::ios::binary);
  out.write(text.data(), static_cast<std::streamsize>(text.size()));
  out.close();
  if (!out) return fail(io_error(file, "the file cannot be written"));
  return {};
}

Result<void> ResultFolder::commit() {
  std::error_code code;
  const std::filesystem::path old = working_.string() + ".old";
  const bool replaces = std::filesystem::exists(target_, code);
  if (replaces) {
    std::filesystem::rename(target_, old, code);
    if (code) return fail(io_error(target_, "the old results cannot be moved away"));
  }
  std::filesystem::rename(working_, target_, code);
  if (code) {
    std::error_code ignored;
    if (replaces) std::filesystem::rename(old, target_, ignored);
    return fail(io_error(target_, "the results cannot be put in place"));
  }
  working_.clear();
  if (replaces) std::filesystem::remove_all(old, code);
  return {};
}

}  // namespace lintel::app
