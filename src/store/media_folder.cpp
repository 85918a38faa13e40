#include "store/media_folder.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <ctime>
#include <functional>
#include <optional>
#include <system_error>
#include <utility>

#include "secure/random.h"
#include "secure/sha256.h"

namespace lintel::store {
namespace {

constexpr std::int64_t kMostBytes = std::int64_t{16} << 30;
constexpr std::size_t kPiece = 1 << 18;
constexpr std::string_view kPartFolder = "part";  // files on their way in
constexpr std::string_view kLockFile = ".lock";

tl::unexpected<Error> io_error(std::string message) {
  const bool full = errno == ENOSPC || errno == EDQUOT;
  return fail(ErrorCode::Io, std::move(message),
              full ? "make room on the disk" : "check the media folder and its permissions");
}

tl::unexpected<Error> not_there() {
  return fail(ErrorCode::NotFound, "this file is not in the media folder");
}

class Descriptor {
 public:
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  bool open() const { return number_ >= 0; }
  int number() const { return number_; }

 private:
  int number_;
};

bool is_digest(std::string_view name) {
  return name.size() == 64 && std::all_of(name.begin(), name.end(), [](char c) {
           return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
         });
}

std::filesystem::path place_of(const std::filesystem::path& folder, std::string_view sha256) {
  return folder / std::string(sha256.substr(0, 2)) / std::string(sha256);
}

Result<void> make_folder(const std::filesystem::path& folder) {
  if (::mkdir(folder.c_str(), 0700) == 0 || errno == EEXIST) return {};
  return io_error("the media folder cannot be made");
}

Result<void> sync_folder(const std::filesystem::path& folder) {
  const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!opened.open() || ::fsync(opened.number()) != 0) {
    return io_error("the media folder cannot be written");
  }
  return {};
}

Result<void> write_all(int file, const char* data, std::size_t size) {
  while (size > 0) {
    const ssize_t written = ::write(file, data, size);
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return io_error("the file cannot be written into the media folder");
    data += written;
    size -= static_cast<std::size_t>(written);
  }
  return {};
}

// A file under a name of its own until it is complete; gone when something fails on the way.
class PartFile {
 public:
  explicit PartFile(const std::filesystem::path& folder)
      : path_(folder / std::string(kPartFolder) / secure::random_id()),
        file_(::open(path_.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600)) {}
  PartFile(const PartFile&) = delete;
  PartFile& operator=(const PartFile&) = delete;
  ~PartFile() {
    if (file_.open() && !moved_) ::unlink(path_.c_str());
  }

  bool open() const { return file_.open(); }
  Result<void> write(const char* data, std::size_t size) {
    bytes_ += static_cast<std::int64_t>(size);
    if (bytes_ > kMostBytes) {
      return fail(ErrorCode::Limit, "the file is larger than 16 GiB", "cut the clip");
    }
    digest_.add({data, size});
    return write_all(file_.number(), data, size);
  }
  // On disk, then under its name, then the name on disk. Whoever collects garbage waits.
  Result<StoredMedia> move_into(const std::filesystem::path& folder, int lock) {
    const StoredMedia out{digest_.hex(), bytes_};
    const std::filesystem::path place = place_of(folder, out.sha256);
    if (::fsync(file_.number()) != 0) {
      return io_error("the file cannot be written into the media folder");
    }
    LINTEL_TRY_VOID(make_folder(place.parent_path()));
    if (::flock(lock, LOCK_SH) != 0) return io_error("the media folder cannot be locked");
    // Also over a file of the same name: the same bytes, and the time of writing is now.
    ::futimens(file_.number(), nullptr);
    if (::rename(path_.c_str(), place.c_str()) != 0) {
      return io_error("the file cannot be moved into the media folder");
    }
    moved_ = true;
    LINTEL_TRY_VOID(sync_folder(place.parent_path()));
    LINTEL_TRY_VOID(sync_folder(folder));
    return out;
  }

 private:
  std::filesystem::path path_;
  Descriptor file_;
  secure::Sha256 digest_;
  std::int64_t bytes_ = 0;
  bool moved_ = false;
};

int open_lock(const std::filesystem::path& folder) {
  return ::open((folder / std::string(kLockFile)).c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
}

using Fill = std::function<Result<void>(PartFile&)>;

Result<StoredMedia> add(const std::filesystem::path& folder, const Fill& fill) {
  const Descriptor lock(open_lock(folder));
  PartFile part(folder);
  if (!lock.open() || !part.open()) return io_error("the media folder cannot be written");
  LINTEL_TRY_VOID(fill(part));
  return part.move_into(folder, lock.number());
}

Result<void> copy_into(int source, PartFile& part) {
  std::vector<char> piece(kPiece);
  for (;;) {
    const ssize_t got = ::read(source, piece.data(), piece.size());
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return io_error("the file cannot be read");
    if (got == 0) return {};
    LINTEL_TRY_VOID(part.write(piece.data(), static_cast<std::size_t>(got)));
  }
}

std::vector<std::string> names_in(const std::filesystem::path& folder) {
  std::vector<std::string> out;
  std::error_code failed;
  for (std::filesystem::directory_iterator at(folder, failed), end; !failed && at != end;
       at.increment(failed)) {
    out.push_back(at->path().filename().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

struct FileFacts {
  std::int64_t bytes = 0, age_s = 0;
};

// Nothing when it is gone meanwhile, or no plain file.
std::optional<FileFacts> facts_of(const std::filesystem::path& file) {
  struct stat info {};
  if (::lstat(file.c_str(), &info) != 0 || !S_ISREG(info.st_mode)) return std::nullopt;
  return FileFacts{info.st_size, std::time(nullptr) - info.st_mtime};
}

}  // namespace

Result<MediaFolder> MediaFolder::open(const std::filesystem::path& folder) {
  std::error_code failed;
  std::filesystem::create_directories(folder.parent_path(), failed);
  LINTEL_TRY_VOID(make_folder(folder));
  LINTEL_TRY_VOID(make_folder(folder / std::string(kPartFolder)));
  const Descriptor lock(open_lock(folder));
  if (!lock.open()) return io_error("the media folder cannot be written");
  return MediaFolder(folder);
}

Result<StoredMedia> MediaFolder::add_file(const std::filesystem::path& file) const {
  const Descriptor source(::open(file.c_str(), O_RDONLY | O_CLOEXEC));
  if (!source.open()) {
    return fail(
        Error{ErrorCode::NotFound, "the file cannot be opened", {}, "check its name", {}}.with_file(
            file.filename().string()));
  }
  return add(folder_, [&](PartFile& part) { return copy_into(source.number(), part); });
}

Result<StoredMedia> MediaFolder::add_bytes(std::string_view bytes) const {
  return add(folder_, [&](PartFile& part) { return part.write(bytes.data(), bytes.size()); });
}

Result<std::filesystem::path> MediaFolder::path_of(std::string_view sha256) const {
  if (!is_digest(sha256)) return not_there();
  std::filesystem::path place = place_of(folder_, sha256);
  if (!facts_of(place)) return not_there();
  return place;
}

Result<std::filesystem::path> MediaFolder::find(std::string_view sha256) const {
  std::filesystem::path place = LINTEL_TRY(path_of(sha256));
  const std::string digest = LINTEL_TRY(secure::sha256_of_file(place));
  if (digest != sha256) {
    return fail(ErrorCode::Invalid, "a file of the media folder is damaged",
                "restore it from the last backup");
  }
  return place;
}

Result<std::vector<StoredMedia>> MediaFolder::list() const {
  std::vector<StoredMedia> out;
  for (const std::string& folder : names_in(folder_)) {
    if (folder.size() != 2) continue;
    for (const std::string& name : names_in(folder_ / folder)) {
      const std::optional<FileFacts> facts = facts_of(folder_ / folder / name);
      if (is_digest(name) && facts) out.push_back({name, facts->bytes});
    }
  }
  return out;
}

Result<std::vector<StoredMedia>> MediaFolder::collect_garbage(
    const std::vector<std::string>& referenced, std::int64_t grace_s) const {
  const Descriptor lock(open_lock(folder_));
  if (!lock.open()) return io_error("the media folder cannot be written");
  std::vector<StoredMedia> removed;
  for (const StoredMedia& media : LINTEL_TRY(list())) {
    if (std::binary_search(referenced.begin(), referenced.end(), media.sha256)) continue;
    // Looked at and removed under the lock: nobody can add the same bytes in between.
    if (::flock(lock.number(), LOCK_EX) != 0) return io_error("the media folder cannot be locked");
    const std::filesystem::path place = place_of(folder_, media.sha256);
    const std::optional<FileFacts> facts = facts_of(place);
    if (facts && facts->age_s > grace_s && ::unlink(place.c_str()) == 0) removed.push_back(media);
    ::flock(lock.number(), LOCK_UN);
  }
  const std::filesystem::path parts = folder_ / std::string(kPartFolder);
  for (const std::string& name : names_in(parts)) {
    const std::optional<FileFacts> facts = facts_of(parts / name);
    if (facts && facts->age_s > grace_s) ::unlink((parts / name).c_str());
  }
  return removed;
}

Result<std::vector<StoredMedia>> MediaFolder::remove_older(const std::vector<std::string>& digests,
                                                           std::int64_t grace_s) const {
  const Descriptor lock(open_lock(folder_));
  if (!lock.open()) return io_error("the media folder cannot be written");
  std::vector<StoredMedia> removed;
  for (const std::string& digest : digests) {
    if (!is_digest(digest)) continue;
    if (::flock(lock.number(), LOCK_EX) != 0) return io_error("the media folder cannot be locked");
    const std::filesystem::path place = place_of(folder_, digest);
    const std::optional<FileFacts> facts = facts_of(place);
    if (facts && facts->age_s >= grace_s && ::unlink(place.c_str()) == 0) {
      removed.push_back({digest, facts->bytes});
    }
    ::flock(lock.number(), LOCK_UN);
  }
  return removed;
}

}  // namespace lintel::store
