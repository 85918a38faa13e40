#include "media/byte_source.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <system_error>

#include "media/ffmpeg_handles.h"

namespace lintel::media {
namespace {

constexpr int kIoBufferBytes = 64 * 1024;

Error file_error(ErrorCode code, std::string message, std::string mend, const std::string& name) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(name);
  return error;
}

Error open_error(int code, const std::string& name) {
  if (code == ENOENT || code == ENOTDIR) {
    return file_error(ErrorCode::NotFound, "there is no such file",
                      "check the name and the folder of the clip", name);
  }
  if (code == EACCES || code == EPERM) {
    return file_error(ErrorCode::Denied, "the file may not be read",
                      "give this account the right to read it, or copy it elsewhere", name);
  }
  return file_error(ErrorCode::Io,
                    "the file does not open: " + std::generic_category().message(code),
                    "copy the clip to a local disk and try again", name);
}

}  // namespace

Result<std::unique_ptr<ByteSource>> ByteSource::open_file(const std::filesystem::path& path) {
  std::unique_ptr<ByteSource> source(new ByteSource);
  source->name_ = path.string();
  // Non-blocking, so that a named pipe without a writer does not hold us up.
  source->descriptor_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  if (source->descriptor_ < 0) return fail(open_error(errno, source->name_));
  struct stat status = {};
  if (::fstat(source->descriptor_, &status) != 0) return fail(open_error(errno, source->name_));
  if (S_ISDIR(status.st_mode)) {
    return fail(file_error(ErrorCode::Invalid, "this is a folder, not a clip",
                           "name one clip or photo inside the folder", source->name_));
  }
  if (!S_ISREG(status.st_mode)) {
    return fail(file_error(ErrorCode::Invalid, "this is not a regular file",
                           "save the clip as a file and name that", source->name_));
  }
  if (status.st_size == 0) {
    return fail(file_error(ErrorCode::Invalid, "the file is empty",
                           "copy the clip from the phone or camera again", source->name_));
  }
  source->size_ = status.st_size;
  return source;
}

Result<std::unique_ptr<ByteSource>> ByteSource::from_memory(std::span<const std::uint8_t> bytes,
                                                            std::string name) {
  if (bytes.empty()) {
    return fail(file_error(ErrorCode::Invalid, "the file is empty",
                           "copy the clip from the phone or camera again", name));
  }
  std::unique_ptr<ByteSource> source(new ByteSource);
  source->name_ = std::move(name);
  source->memory_ = bytes;
  source->size_ = static_cast<std::int64_t>(bytes.size());
  return source;
}

ByteSource::~ByteSource() {
  if (io_ != nullptr) {
    av_freep(&io_->buffer);
    avio_context_free(&io_);
  }
  if (descriptor_ >= 0) ::close(descriptor_);
}

std::int64_t ByteSource::read_at(std::int64_t offset, std::span<std::uint8_t> out) const {
  if (offset < 0 || offset >= size_) return 0;
  const std::size_t wanted =
      std::min(out.size(), static_cast<std::size_t>(std::max<std::int64_t>(size_ - offset, 0)));
  if (descriptor_ < 0) {
    std::memcpy(out.data(), memory_.data() + offset, wanted);
    return static_cast<std::int64_t>(wanted);
  }
  std::size_t done = 0;
  while (done < wanted) {
    const ssize_t got = ::pread(descriptor_, out.data() + done, wanted - done,
                                offset + static_cast<std::int64_t>(done));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return done > 0 ? static_cast<std::int64_t>(done) : -1;
    if (got == 0) break;  // shortened while we read
    done += static_cast<std::size_t>(got);
  }
  return static_cast<std::int64_t>(done);
}

Result<std::vector<std::uint8_t>> ByteSource::read_all(std::int64_t limit_bytes) const {
  if (size_ > limit_bytes) {
    return fail(file_error(ErrorCode::Limit,
                           "the photo's file has " + std::to_string(size_) + " bytes, more than " +
                               std::to_string(limit_bytes),
                           "save the photo smaller or more strongly compressed", name_));
  }
  std::vector<std::uint8_t> bytes(static_cast<std::size_t>(size_));
  if (read_at(0, bytes) != size_) {
    return fail(file_error(ErrorCode::Io, "the file could not be read to its end",
                           "copy it to a local disk and try again", name_));
  }
  return bytes;
}

AVIOContext* ByteSource::make_io(std::stop_token stop) {
  stop_ = std::move(stop);
  position_ = 0;
  auto* buffer = static_cast<unsigned char*>(av_malloc(kIoBufferBytes));
  if (buffer == nullptr) return nullptr;
  io_ = avio_alloc_context(buffer, kIoBufferBytes, 0, this, &ByteSource::read_callback, nullptr,
                           &ByteSource::seek_callback);
  if (io_ == nullptr) av_free(buffer);
  return io_;
}

int ByteSource::read_callback(void* self, std::uint8_t* buffer, int length) {
  auto& source = *static_cast<ByteSource*>(self);
  if (source.stop_.stop_requested()) return AVERROR_EXIT;
  if (length <= 0) return AVERROR(EINVAL);
  const std::int64_t got =
      source.read_at(source.position_, {buffer, static_cast<std::size_t>(length)});
  if (got < 0) return AVERROR(EIO);
  if (got == 0) return AVERROR_EOF;
  source.position_ += got;
  return static_cast<int>(got);
}

std::int64_t ByteSource::seek_callback(void* self, std::int64_t offset, int whence) {
  auto& source = *static_cast<ByteSource*>(self);
  whence &= ~AVSEEK_FORCE;
  if (whence == AVSEEK_SIZE) return source.size_;
  std::int64_t base = 0;
  if (whence == SEEK_CUR) base = source.position_;
  if (whence == SEEK_END) base = source.size_;
  std::int64_t target = 0;
  if (__builtin_add_overflow(base, offset, &target) || target < 0) return AVERROR(EINVAL);
  source.position_ = target;
  return target;
}

}  // namespace lintel::media
