#include "formats/zip_writer.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <deque>
#include <set>
#include <system_error>
#include <utility>

#include <zip.h>

#include "formats/zip_reader.h"

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;

Error file_error(ErrorCode code, const fs::path& file, std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(file.string());
  return error;
}

Error write_error(const fs::path& target, const std::string& reason) {
  return file_error(ErrorCode::Io, target, "the archive cannot be written: " + reason,
                    "check free space and the folder");
}

// Clock time without a zone, as zip keeps it: to two seconds, from 1980 on.
struct ZipTime {
  zip_uint16_t time = 0;
  zip_uint16_t date = (1 << 5) | 1;
};

ZipTime zip_time(std::string_view iso) {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0;
  const std::string text(iso.substr(0, 19));
  if (std::sscanf(text.c_str(), "%4d-%2d-%2dT%2d:%2d:%2d", &year, &month, &day, &hour, &minute,
                  &second) != 6 ||
      year < 1980 || year > 2107) {
    return {};
  }
  return {static_cast<zip_uint16_t>(hour << 11 | minute << 5 | second / 2),
          static_cast<zip_uint16_t>((year - 1980) << 9 | month << 5 | day)};
}

}  // namespace

struct ZipWriter::State {
  fs::path target, temporary;
  zip_t* archive = nullptr;
  ZipTime time;
  std::set<std::string> names;
  std::deque<std::string> texts;  // libzip reads them at commit()

  ~State() {
    if (archive != nullptr) zip_discard(archive);
    if (!temporary.empty()) ::unlink(temporary.c_str());
  }

  Result<void> add(const std::string& name, zip_source_t* source, Packing packing) {
    if (source == nullptr) return fail(write_error(target, zip_strerror(archive)));
    const zip_int64_t index = zip_file_add(archive, name.c_str(), source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
      zip_source_free(source);
      return fail(write_error(target, zip_strerror(archive)));
    }
    const auto at = static_cast<zip_uint64_t>(index);
    const zip_int32_t method = packing == Packing::Store ? ZIP_CM_STORE : ZIP_CM_DEFLATE;
    constexpr zip_uint32_t kMode = 0100600;
    if (zip_set_file_compression(archive, at, method, 0) != 0 ||
        zip_file_set_dostime(archive, at, time.time, time.date, 0) != 0 ||
        zip_file_set_external_attributes(archive, at, 0, ZIP_OPSYS_UNIX, kMode << 16) != 0) {
      return fail(write_error(target, zip_strerror(archive)));
    }
    return {};
  }

  Result<void> take_name(const std::string& name) {
    std::string fault = zip_name_fault(name);
    if (fault.empty() && !names.insert(name).second) fault = "is there already";
    if (fault.empty()) return {};
    return fail(file_error(ErrorCode::Invalid, target,
                           "the name \"" + name + "\" of an entry " + fault, ""));
  }
};

ZipWriter::ZipWriter(std::unique_ptr<State> state) : state_(std::move(state)) {}
ZipWriter::ZipWriter(ZipWriter&&) noexcept = default;
ZipWriter::~ZipWriter() = default;

Result<ZipWriter> ZipWriter::create(const fs::path& target, std::string_view iso_time) {
  static std::atomic<unsigned> counter{0};
  if (::access(target.c_str(), F_OK) == 0) {
    return fail(file_error(ErrorCode::Conflict, target, "this file exists already",
                           "choose another name; nothing is replaced"));
  }
  // libzip opens nothing before it writes: whoever waits till then waits in vain.
  const fs::path folder = target.has_parent_path() ? target.parent_path() : fs::path(".");
  if (::access(folder.c_str(), W_OK) != 0) {
    return fail(file_error(ErrorCode::NotFound, target, "the archive cannot be made here",
                           "the folder must be there and be your own"));
  }
  auto state = std::make_unique<State>();
  state->target = target;
  state->temporary =
      target.parent_path() / ("." + target.filename().string() + "." + std::to_string(::getpid()) +
                              "-" + std::to_string(counter++) + ".part");
  state->time = zip_time(iso_time);
  int code = 0;
  state->archive = zip_open(state->temporary.c_str(), ZIP_CREATE | ZIP_EXCL, &code);
  if (state->archive == nullptr) {
    return fail(file_error(ErrorCode::NotFound, target, "the archive cannot be made here",
                           "the folder must be there and be your own"));
  }
  return ZipWriter(std::move(state));
}

Result<void> ZipWriter::add_text(const std::string& name, std::string text) {
  LINTEL_TRY_VOID(state_->take_name(name));
  const std::string& kept = state_->texts.emplace_back(std::move(text));
  return state_->add(name, zip_source_buffer(state_->archive, kept.data(), kept.size(), 0),
                     Packing::Deflate);
}

Result<void> ZipWriter::add_file(const std::string& name, const fs::path& file, Packing packing) {
  LINTEL_TRY_VOID(state_->take_name(name));
  return state_->add(name, zip_source_file(state_->archive, file.c_str(), 0, -1), packing);
}

Result<void> ZipWriter::commit() {
  State& state = *state_;
  if (state.archive == nullptr) return fail(write_error(state.target, "it was given away"));
  if (zip_close(state.archive) != 0) {
    const std::string reason = zip_strerror(state.archive);
    return fail(write_error(state.target, reason));
  }
  state.archive = nullptr;
  const int descriptor = ::open(state.temporary.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return fail(write_error(state.target, "it has no entry"));
  const bool synced = ::fchmod(descriptor, 0600) == 0 && ::fsync(descriptor) == 0;
  ::close(descriptor);
  if (!synced || ::rename(state.temporary.c_str(), state.target.c_str()) != 0) {
    return fail(write_error(state.target, std::generic_category().message(errno)));
  }
  state.temporary.clear();
  return {};
}

}  // namespace lintel::formats
