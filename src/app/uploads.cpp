#include "app/uploads.h"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cerrno>
#include <charconv>
#include <utility>

#include "app/text_file.h"
#include "base/instant.h"
#include "formats/clip_answers_json.h"
#include "secure/random.h"
#include "secure/sha256.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kPart = ".part";

fs::path folder_of(const Practice& practice) {
  return practice.data / "uploads";
}

fs::path file_of(const Practice& practice, const std::string& id) {
  return folder_of(practice) / (id + std::string(kPart));
}

Error disk_error() {
  return Error{ErrorCode::Io,
               "the upload cannot be written",
               {},
               "make room on the disk of the server, then go on",
               {}};
}

Error no_upload() {
  return Error{ErrorCode::NotFound, "there is no such upload", {}, "begin it again", {}};
}

// The file of an upload, locked against other writers, also of other processes.
class LockedFile {
 public:
  static Result<LockedFile> open(const fs::path& path) {
    LockedFile file(::open(path.c_str(), O_RDWR | O_CLOEXEC));
    if (file.descriptor_ < 0) return fail(errno == ENOENT ? no_upload() : disk_error());
    if (::flock(file.descriptor_, LOCK_EX | LOCK_NB) != 0) {
      return fail(ErrorCode::Conflict, "another request writes to this upload now",
                  "ask where it is, then go on from there");
    }
    struct stat status {};
    if (::fstat(file.descriptor_, &status) != 0) return fail(disk_error());
    // Dropped or completed while this one waited to open it.
    if (status.st_nlink == 0) return fail(no_upload());
    file.size_ = status.st_size;
    return file;
  }
  LockedFile(LockedFile&& other) noexcept
      : descriptor_(std::exchange(other.descriptor_, -1)), size_(other.size_) {}
  LockedFile& operator=(LockedFile&&) = delete;
  ~LockedFile() {
    if (descriptor_ >= 0) ::close(descriptor_);
  }

  std::int64_t size() const { return size_; }

  // On disk when it answers; else the file is as long as before.
  Result<void> append(std::string_view bytes) {
    std::size_t done = 0;
    while (done < bytes.size()) {
      const ::ssize_t wrote = ::pwrite(descriptor_, bytes.data() + done, bytes.size() - done,
                                       size_ + static_cast<::off_t>(done));
      if (wrote < 0 && errno == EINTR) continue;
      if (wrote <= 0) return undo();
      done += static_cast<std::size_t>(wrote);
    }
    if (::fdatasync(descriptor_) != 0) return undo();
    size_ += static_cast<std::int64_t>(bytes.size());
    return {};
  }

 private:
  explicit LockedFile(int descriptor) : descriptor_(descriptor) {}
  Result<void> undo() {
    (void)!::ftruncate(descriptor_, size_);
    return fail(disk_error());
  }

  int descriptor_ = -1;
  std::int64_t size_ = 0;
};

Result<void> make_file(const Practice& practice, const std::string& id) {
  std::error_code code;
  fs::create_directories(folder_of(practice), code);
  if (code) return fail(disk_error());
  constexpr int kOwnerAlone = 0600;
  const int descriptor =
      ::open(file_of(practice, id).c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, kOwnerAlone);
  if (descriptor < 0) return fail(disk_error());
  ::close(descriptor);
  return {};
}

// Without folders, control characters and dots at the front; never empty.
std::string tidy_name(std::string_view name) {
  const std::size_t slash = name.find_last_of("/\\");
  if (slash != std::string_view::npos) name.remove_prefix(slash + 1);
  std::string out;
  for (const char c : name) {
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7f) out += c;
  }
  out.erase(0, out.find_first_not_of(". "));
  return out.empty() ? "clip" : out;
}

Error field_error(ErrorCode code, const char* field, std::string message, std::string mend = {}) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = field;
  return error;
}

Result<void> check_request(const Practice& practice, const UploadRequest& request) {
  constexpr std::size_t kLongestName = 200;
  if (request.name.empty() || request.name.size() > kLongestName) {
    return fail(field_error(ErrorCode::Invalid, "name", "must have 1 to 200 bytes"));
  }
  if (request.bytes < 1)
    return fail(field_error(ErrorCode::Invalid, "bytes", "must be at least 1"));
  if (request.bytes > practice.settings.upload_limit_bytes) {
    return fail(field_error(ErrorCode::Limit, "bytes",
                            "the file is larger than the " +
                                std::to_string(practice.settings.upload_limit_bytes >> 20) +
                                " MiB that are allowed here",
                            "film less at a time, or raise upload_limit in lintel.toml"));
  }
  const bool good_digest =
      request.sha256.empty() ||
      (request.sha256.size() == 64 &&
       request.sha256.find_first_not_of("0123456789abcdef") == std::string::npos);
  if (!good_digest) {
    return fail(field_error(ErrorCode::Invalid, "sha256", "must be 64 digits 0-9a-f"));
  }
  std::error_code code;
  const fs::space_info space = fs::space(practice.data, code);
  // Once as pieces, once in the media folder.
  if (!code && space.available < 2 * static_cast<std::uintmax_t>(request.bytes)) {
    return fail(field_error(ErrorCode::Limit, "bytes", "the disk of the server has no room for it",
                            "make room on the disk of the server"));
  }
  return {};
}

UploadState state_of(const store::Upload& upload, std::int64_t offset) {
  UploadState state;
  state.id = upload.id;
  state.name = upload.name;
  state.bytes = upload.bytes;
  state.offset = offset;
  state.sha256 = upload.sha256;
  state.expires_at = upload.expires_at;
  return state;
}

// All bytes are there: checked, moved to the media folder, noted. Under the file's lock.
Result<UploadState> complete(Practice& practice, store::Upload upload) {
  const fs::path file = file_of(practice, upload.id);
  if (!upload.expected_sha256.empty() &&
      LINTEL_TRY(secure::sha256_of_file(file)) != upload.expected_sha256) {
    LINTEL_TRY_VOID(drop_upload_of(practice, upload));
    return fail(field_error(ErrorCode::Invalid, "sha256",
                            "the bytes that arrived are not those that were announced",
                            "upload the file again"));
  }
  const store::StoredMedia media = LINTEL_TRY(practice.media->add_file(file));
  upload.sha256 = media.sha256;
  upload.expires_at = instant_after(practice.now(), kUploadLifetime);
  LINTEL_TRY_VOID(practice.database->write([&](store::Transaction& t) {
    return store::complete_upload(t, upload.id, upload.sha256, upload.expires_at);
  }));
  std::error_code ignored;
  fs::remove(file, ignored);
  return state_of(upload, upload.bytes);
}

Result<store::Upload> own_upload(Practice& practice, const Caller& caller, std::string_view id) {
  LINTEL_TRY_VOID(require(caller, Permission::EnterTests));
  store::Upload upload =
      LINTEL_TRY(store::read_value<store::Upload>(*practice.database, [&](store::Transaction& t) {
        return store::find_upload(t, caller.organization, id, practice.now());
      }));
  if (upload.created_by != caller.person || !upload.hand_off.empty()) return fail(no_upload());
  return upload;
}

}  // namespace

Result<ContentRange> parse_content_range(std::string_view text) {
  const auto bad = [] {
    return fail(field_error(ErrorCode::Invalid, "Content-Range", "is missing or not understood",
                            "write it as: bytes 0-8388607/31457280"));
  };
  constexpr std::string_view kUnit = "bytes ";
  if (!text.starts_with(kUnit)) return bad();
  text.remove_prefix(kUnit.size());
  ContentRange range;
  const char* at = text.data();
  const char* const end = text.data() + text.size();
  const auto number = [&](std::int64_t& value, char after) {
    const auto [stop, status] = std::from_chars(at, end, value);
    if (status != std::errc{} || value < 0) return false;
    at = stop;
    if (after == '\0') return at == end;
    return at != end && *at++ == after;
  };
  if (!number(range.first, '-') || !number(range.last, '/') || !number(range.total, '\0')) {
    return bad();
  }
  if (range.last < range.first || range.last >= range.total) return bad();
  return range;
}

std::string media_type_of(std::string_view file_name) {
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 17> kTypes = {{
      {".mp4", "video/mp4"},
      {".m4v", "video/mp4"},
      {".mov", "video/quicktime"},
      {".webm", "video/webm"},
      {".mkv", "video/x-matroska"},
      {".avi", "video/x-msvideo"},
      {".3gp", "video/3gpp"},
      {".jpg", "image/jpeg"},
      {".jpeg", "image/jpeg"},
      {".png", "image/png"},
      {".svg", "image/svg+xml"},
      {".json", "application/json"},
      {".csv", "text/csv"},
      {".pdf", "application/pdf"},
      {".txt", "text/plain"},
      {".ics", "text/calendar"},
      {".html", "text/plain"},
  }};
  std::string lower(file_name);
  std::ranges::transform(lower, lower.begin(),
                         [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (const auto& [ending, type] : kTypes) {
    if (lower.ends_with(ending)) return std::string(type);
  }
  return "application/octet-stream";
}

Result<UploadState> begin_upload_of(Practice& practice, store::Upload upload) {
  LINTEL_TRY_VOID(check_request(practice, {upload.name, upload.bytes, upload.expected_sha256}));
  const std::string now = practice.now();
  upload.id = secure::random_id();
  upload.name = tidy_name(upload.name);
  upload.media_type = media_type_of(upload.name);
  // What a person uploads is a picture or a clip; nothing else is ever handed out under its type.
  if (!upload.media_type.starts_with("video/") && upload.media_type != "image/jpeg" &&
      upload.media_type != "image/png") {
    upload.media_type = "application/octet-stream";
  }
  upload.created_at = now;
  upload.expires_at = instant_after(now, kUploadLifetime);
  const auto add = [&](store::Transaction& t) -> Result<store::Upload> {
    const std::int64_t open =
        LINTEL_TRY(store::count_open_uploads(t, upload.organization, upload.created_by, now));
    if (open >= kMostOpenUploads) {
      return fail(ErrorCode::Limit, "too many of your uploads are not complete",
                  "go on with one of them, or give one up");
    }
    return store::add_upload(t, upload);
  };
  // The row first: a file without one is left over (sweep_uploads).
  const store::Upload added =
      LINTEL_TRY(store::write_value<store::Upload>(*practice.database, add));
  if (const Result<void> made = make_file(practice, upload.id); !made) {
    LINTEL_TRY_VOID(drop_upload_of(practice, upload));
    return fail(made.error());
  }
  return state_of(added, 0);
}

Result<UploadState> upload_state(Practice& practice, const store::Upload& upload) {
  if (upload.complete()) return state_of(upload, upload.bytes);
  auto file = LockedFile::open(file_of(practice, upload.id));
  if (!file) {
    // Written to at this moment: what is there already can still be told.
    std::error_code code;
    const std::uintmax_t size = fs::file_size(file_of(practice, upload.id), code);
    if (code) return fail(no_upload());
    return state_of(upload, std::min(static_cast<std::int64_t>(size), upload.bytes - 1));
  }
  // All bytes but no end: the server was stopped in between.
  if (file->size() == upload.bytes) return complete(practice, upload);
  return state_of(upload, file->size());
}

Result<UploadState> put_chunk_of(Practice& practice, const store::Upload& upload,
                                 const ContentRange& range, std::string_view bytes) {
  if (upload.complete()) return state_of(upload, upload.bytes);
  if (range.total != upload.bytes) {
    return fail(
        field_error(ErrorCode::Invalid, "Content-Range", "names another size than was announced"));
  }
  if (bytes.size() > static_cast<std::size_t>(kChunkBytes)) {
    return fail(ErrorCode::Limit, "the piece is larger than 8 MiB", "send smaller pieces");
  }
  if (range.last - range.first + 1 != static_cast<std::int64_t>(bytes.size())) {
    return fail(field_error(ErrorCode::Invalid, "Content-Range",
                            "names another number of bytes than were sent"));
  }
  LockedFile file = LINTEL_TRY(LockedFile::open(file_of(practice, upload.id)));
  if (range.first != file.size()) {
    return fail(field_error(ErrorCode::Conflict, "Content-Range",
                            "the next piece begins at byte " + std::to_string(file.size()),
                            "go on from there"));
  }
  LINTEL_TRY_VOID(file.append(bytes));
  if (file.size() == upload.bytes) return complete(practice, upload);
  return state_of(upload, file.size());
}

Result<void> drop_upload_of(Practice& practice, const store::Upload& upload) {
  LINTEL_TRY_VOID(practice.database->write(
      [&](store::Transaction& t) { return store::remove_upload(t, upload.id); }));
  std::error_code ignored;
  fs::remove(file_of(practice, upload.id), ignored);
  return {};
}

Result<UploadState> begin_upload(Practice& practice, const Caller& caller,
                                 const UploadRequest& request) {
  LINTEL_TRY_VOID(require(caller, Permission::EnterTests));
  store::Upload upload;
  upload.organization = caller.organization;
  upload.created_by = caller.person;
  upload.name = request.name;
  upload.bytes = request.bytes;
  upload.expected_sha256 = request.sha256;
  return begin_upload_of(practice, std::move(upload));
}

Result<UploadState> find_upload(Practice& practice, const Caller& caller, std::string_view id) {
  return upload_state(practice, LINTEL_TRY(own_upload(practice, caller, id)));
}

Result<UploadState> put_chunk(Practice& practice, const Caller& caller, std::string_view id,
                              const ContentRange& range, std::string_view bytes) {
  return put_chunk_of(practice, LINTEL_TRY(own_upload(practice, caller, id)), range, bytes);
}

Result<void> drop_upload(Practice& practice, const Caller& caller, std::string_view id) {
  return drop_upload_of(practice, LINTEL_TRY(own_upload(practice, caller, id)));
}

std::string upload_json(const UploadState& upload, std::string_view trial) {
  return formats::write_upload_json({upload.id, upload.name, upload.sha256, upload.expires_at,
                                     upload.offset, upload.bytes, upload.chunk_bytes,
                                     std::string(trial)});
}

Result<UploadRequest> read_upload_request(std::string_view body) {
  auto reading = formats::read_upload_body_json(body);
  if (!reading.body) return fail(joined_faults(reading.faults));
  return UploadRequest{reading.body->name, reading.body->bytes, reading.body->sha256};
}

Result<void> sweep_uploads(Practice& practice) {
  const std::string now = practice.now();
  LINTEL_TRY_VOID(practice.database->write([&](store::Transaction& t) {
    return store::remove_expired_hand_offs(t, instant_after(now, -kUploadLifetime));
  }));
  LINTEL_TRY(store::write_value<std::vector<std::string>>(
      *practice.database,
      [&](store::Transaction& t) { return store::remove_expired_uploads(t, now); }));
  // The files first: whatever is among them had its row before.
  std::vector<fs::path> files;
  std::error_code code;
  for (fs::directory_iterator at(folder_of(practice), code), end; !code && at != end;
       at.increment(code)) {
    if (at->path().extension() == kPart) files.push_back(at->path());
  }
  const auto ids = LINTEL_TRY(store::read_value<std::vector<std::string>>(
      *practice.database, [](store::Transaction& t) { return store::upload_ids(t); }));
  for (const fs::path& file : files) {
    std::error_code ignored;
    if (!std::ranges::binary_search(ids, file.stem().string())) fs::remove(file, ignored);
  }
  return {};
}

}  // namespace lintel::app
