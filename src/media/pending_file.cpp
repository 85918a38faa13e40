#include "media/pending_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <system_error>
#include <utility>

namespace lintel::media {
namespace {

Error write_error(int code, const std::filesystem::path& target) {
  Error error{ErrorCode::Io,
              "cannot write: " + std::generic_category().message(code),
              {},
              "check free space and the state of the disk",
              {}};
  if (code == ENOENT || code == ENOTDIR) {
    error.code = ErrorCode::NotFound;
    error.message = "the folder to write to does not exist";
    error.mend = "create the folder first, or choose another one";
  } else if (code == EACCES || code == EPERM || code == EROFS) {
    error.code = ErrorCode::Denied;
    error.message = "this account may not write to the folder";
    error.mend = "choose a folder of your own";
  }
  error.with_file(target.string());
  return error;
}

}  // namespace

Result<PendingFile> PendingFile::create(const std::filesystem::path& target) {
  static std::atomic<unsigned> counter{0};
  std::error_code ignored;
  if (target.filename().empty() || std::filesystem::is_directory(target, ignored)) {
    Error error{ErrorCode::Invalid, "the target is a folder", {}, "give a file name as well", {}};
    error.with_file(target.string());
    return fail(std::move(error));
  }
  PendingFile file;
  file.target_ = target;
  for (int attempt = 0; attempt < 100; ++attempt) {
    const std::string name = "." + target.filename().string() + "." + std::to_string(::getpid()) +
                             "-" + std::to_string(counter++) + ".part";
    const std::filesystem::path candidate = target.parent_path() / name;
    const int descriptor = ::open(candidate.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0666);
    if (descriptor >= 0) {
      ::close(descriptor);
      file.temporary_ = candidate;
      return file;
    }
    if (errno != EEXIST) return fail(write_error(errno, target));
  }
  return fail(write_error(EEXIST, target));
}

PendingFile::PendingFile(PendingFile&& other) noexcept
    : target_(std::move(other.target_)), temporary_(std::exchange(other.temporary_, {})) {}

PendingFile& PendingFile::operator=(PendingFile&& other) noexcept {
  if (this != &other) {
    discard();
    target_ = std::move(other.target_);
    temporary_ = std::exchange(other.temporary_, {});
  }
  return *this;
}

PendingFile::~PendingFile() {
  discard();
}

void PendingFile::discard() {
  if (temporary_.empty()) return;
  std::error_code ignored;
  std::filesystem::remove(temporary_, ignored);
  temporary_.clear();
}

Result<void> PendingFile::commit() {
  const int descriptor = ::open(temporary_.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return fail(write_error(errno, target_));
  const int synced = ::fsync(descriptor) == 0 ? 0 : errno;
  ::close(descriptor);
  if (synced != 0) return fail(write_error(synced, target_));
  std::error_code code;
  std::filesystem::rename(temporary_, target_, code);
  if (code) return fail(write_error(code.value(), target_));
  temporary_.clear();
  return {};
}

}  // namespace lintel::media
