#include "formats/zip_reader.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <map>
#include <set>
#include <system_error>
#include <utility>

#include <zip.h>

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;

Error file_error(ErrorCode code, const fs::path& file, std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(file.filename().string());
  return error;
}

Error entry_error(ErrorCode code, const fs::path& file, std::string_view name, std::string fault) {
  Error error = file_error(code, file, std::move(fault),
                           "nothing was taken over; ask for the file "
                           "again from whoever made it");
  error.place.field = std::string(name.substr(0, 240));
  return error;
}

Error limit_error(const fs::path& file, const std::string& what, std::int64_t limit) {
  return file_error(ErrorCode::Limit, file,
                    what + ", more than the limit of " + std::to_string(limit),
                    "nothing was taken over; if the file is right, take it over in parts");
}

std::string printable(std::string_view name) {
  std::string out;
  for (const char letter : name.substr(0, 240)) {
    const auto byte = static_cast<unsigned char>(letter);
    out += byte < 0x20 || byte >= 0x7F ? '?' : letter;
  }
  return out;
}

std::string lower_case(std::string_view name) {
  std::string out(name);
  std::transform(out.begin(), out.end(), out.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  return out;
}

}  // namespace

struct ZipReader::State {
  fs::path file;
  zip_t* archive = nullptr;
  std::vector<ZipEntry> entries;
  std::vector<zip_uint64_t> places;  // in the archive, of each entry
  std::map<std::string, std::size_t, std::less<>> by_name;

  ~State() {
    if (archive != nullptr) zip_discard(archive);
  }

  bool is_link_or_device(zip_uint64_t index) const {
    zip_uint8_t system = 0;
    zip_uint32_t attributes = 0;
    if (zip_file_get_external_attributes(archive, index, 0, &system, &attributes) != 0) return true;
    if (system != ZIP_OPSYS_UNIX) return false;
    const zip_uint32_t type = (attributes >> 16) & S_IFMT;
    return type != 0 && type != S_IFREG && type != S_IFDIR;
  }

  Result<void> check_sizes(const zip_stat_t& status, std::string_view name,
                           const ZipLimits& limits) const {
    constexpr zip_uint64_t kNeeded =
        ZIP_STAT_SIZE | ZIP_STAT_COMP_SIZE | ZIP_STAT_COMP_METHOD | ZIP_STAT_ENCRYPTION_METHOD;
    if ((status.valid & kNeeded) != kNeeded) {
      return fail(entry_error(ErrorCode::Invalid, file, name, "its size is not told"));
    }
    if (status.encryption_method != ZIP_EM_NONE) {
      return fail(entry_error(ErrorCode::Unsupported, file, name, "is encrypted"));
    }
    if (status.comp_method != ZIP_CM_STORE && status.comp_method != ZIP_CM_DEFLATE) {
      return fail(entry_error(ErrorCode::Unsupported, file, name,
                              "is packed by another method than deflate"));
    }
    if (status.size > static_cast<zip_uint64_t>(limits.entry_bytes)) {
      return fail(limit_error(
          file, printable(name) + " unpacks to " + std::to_string(status.size) + " bytes",
          limits.entry_bytes));
    }
    const zip_uint64_t packed = std::max<zip_uint64_t>(status.comp_size, 1);
    if (status.size > static_cast<zip_uint64_t>(limits.ratio_from) &&
        status.size / packed > static_cast<zip_uint64_t>(limits.ratio)) {
      return fail(limit_error(file,
                              printable(name) + " grows " + std::to_string(status.size / packed) +
                                  " times when it is unpacked",
                              limits.ratio));
    }
    return {};
  }

  Result<void> take_entry(zip_uint64_t index, const ZipLimits& limits, std::set<std::string>& seen,
                          std::int64_t& total) {
    const char* raw = zip_get_name(archive, index, ZIP_FL_ENC_RAW);
    if (raw == nullptr) {
      return fail(file_error(ErrorCode::Invalid, file, "an entry has no name", ""));
    }
    std::string name(raw);
    const bool folder = name.size() > 1 && name.back() == '/';
    if (folder) name.pop_back();
    const std::string fault = zip_name_fault(name);
    if (!fault.empty()) {
      return fail(entry_error(ErrorCode::Invalid, file, printable(name),
                              "the name of this entry " + fault));
    }
    if (!seen.insert(lower_case(name)).second) {
      return fail(entry_error(ErrorCode::Invalid, file, name, "is in the archive twice"));
    }
    if (is_link_or_device(index)) {
      return fail(entry_error(ErrorCode::Invalid, file, name, "is a link or a device"));
    }
    zip_stat_t status;
    zip_stat_init(&status);
    if (zip_stat_index(archive, index, 0, &status) != 0) {
      return fail(entry_error(ErrorCode::Invalid, file, name, "cannot be read"));
    }
    LINTEL_TRY_VOID(check_sizes(status, name, limits));
    total += static_cast<std::int64_t>(status.size);
    if (total > limits.total_bytes) {
      return fail(limit_error(file, "all entries unpack to more bytes", limits.total_bytes));
    }
    if (folder) return {};
    by_name.emplace(name, entries.size());
    places.push_back(index);
    entries.push_back(ZipEntry{std::move(name), static_cast<std::int64_t>(status.size)});
    return {};
  }
};

ZipReader::ZipReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
ZipReader::ZipReader(ZipReader&&) noexcept = default;
ZipReader::~ZipReader() = default;

Result<ZipReader> ZipReader::open(const fs::path& file, const ZipLimits& limits) {
  struct stat status {};
  if (::stat(file.c_str(), &status) != 0) {
    return fail(
        file_error(ErrorCode::NotFound, file, "the file cannot be opened", "check its name"));
  }
  if (!S_ISREG(status.st_mode)) {
    return fail(file_error(ErrorCode::Invalid, file, "this is not a plain file", "give a file"));
  }
  if (status.st_size > limits.archive_bytes) {
    return fail(limit_error(file, "the file has " + std::to_string(status.st_size) + " bytes",
                            limits.archive_bytes));
  }
  auto state = std::make_unique<State>();
  state->file = file;
  int code = 0;
  state->archive = zip_open(file.c_str(), ZIP_RDONLY | ZIP_CHECKCONS, &code);
  if (state->archive == nullptr) {
    return fail(file_error(ErrorCode::Invalid, file,
                           "this is not a whole zip archive (cut off, damaged, or another kind "
                           "of file)",
                           "ask for the file again from whoever made it"));
  }
  const zip_int64_t count = zip_get_num_entries(state->archive, 0);
  if (count < 0 || count > limits.entries) {
    return fail(
        limit_error(file, "the archive has " + std::to_string(count) + " entries", limits.entries));
  }
  std::set<std::string> seen;
  std::int64_t total = 0;
  for (zip_int64_t i = 0; i < count; ++i) {
    LINTEL_TRY_VOID(state->take_entry(static_cast<zip_uint64_t>(i), limits, seen, total));
  }
  return ZipReader(std::move(state));
}

const std::vector<ZipEntry>& ZipReader::entries() const {
  return state_->entries;
}

const ZipEntry* ZipReader::find(std::string_view name) const {
  const auto found = state_->by_name.find(name);
  return found == state_->by_name.end() ? nullptr : &state_->entries[found->second];
}

Result<void> ZipReader::read(const ZipEntry& entry, const Sink& sink,
                             const WorkContext& work) const {
  const auto found = state_->by_name.find(entry.name);
  LINTEL_CHECK(found != state_->by_name.end());
  const std::unique_ptr<zip_file_t, decltype(&zip_fclose)> input(
      zip_fopen_index(state_->archive, state_->places[found->second], 0), zip_fclose);
  if (!input) {
    return fail(entry_error(ErrorCode::Invalid, state_->file, entry.name, "cannot be read"));
  }
  std::array<char, 1 << 16> piece;
  std::int64_t have = 0;
  while (true) {
    if (work.cancelled()) return fail(cancelled_error());
    const zip_int64_t got = zip_fread(input.get(), piece.data(), piece.size());
    if (got < 0) {
      return fail(entry_error(ErrorCode::Invalid, state_->file, entry.name,
                              "is damaged: its checksum or packing is wrong"));
    }
    if (got == 0) break;
    have += got;
    if (have > entry.bytes) break;
    LINTEL_TRY_VOID(sink(std::string_view(piece.data(), static_cast<std::size_t>(got))));
  }
  if (have == entry.bytes) return {};
  return fail(entry_error(ErrorCode::Invalid, state_->file, entry.name,
                          "has another size than the directory of the archive says"));
}

Result<std::string> ZipReader::read_text(const ZipEntry& entry, std::int64_t most_bytes) const {
  if (entry.bytes > most_bytes) {
    return fail(limit_error(
        state_->file, entry.name + " has " + std::to_string(entry.bytes) + " bytes", most_bytes));
  }
  std::string text;
  LINTEL_TRY_VOID(read(entry, [&](std::string_view bytes) -> Result<void> {
    text += bytes;
    return {};
  }));
  return text;
}

Result<fs::path> ZipReader::unpack(const ZipEntry& entry, const fs::path& folder,
                                   const WorkContext& work) const {
  const fs::path target = folder / entry.name;  // its name was checked when the archive was opened
  std::error_code code;
  fs::create_directories(target.parent_path(), code);
  const int descriptor =
      code ? -1
           : ::open(target.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC | O_NOFOLLOW, 0600);
  const auto write_fault = [&]() {
    return file_error(ErrorCode::Io, target,
                      "cannot be written: " + std::generic_category().message(errno),
                      "check free space");
  };
  if (descriptor < 0) return fail(write_fault());
  Result<void> done = read(
      entry,
      [&](std::string_view bytes) -> Result<void> {
        while (!bytes.empty()) {
          const ssize_t written = ::write(descriptor, bytes.data(), bytes.size());
          if (written < 0 && errno == EINTR) continue;
          if (written < 0) return fail(write_fault());
          bytes.remove_prefix(static_cast<std::size_t>(written));
        }
        return {};
      },
      work);
  ::close(descriptor);
  if (done) return target;
  ::unlink(target.c_str());
  return fail(done.error());
}

}  // namespace lintel::formats
