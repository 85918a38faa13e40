// Where FFmpeg gets bytes from: one regular file or one block of memory, nothing else. Internal.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <span>
#include <stop_token>
#include <string>
#include <vector>

#include "base/result.h"

struct AVIOContext;

namespace lintel::media {

// Random access to the input. FFmpeg never sees a path, so no container can lead it elsewhere.
class ByteSource {
 public:
  // Errors: NotFound, Denied, Invalid (folder, device, empty), Io.
  static Result<std::unique_ptr<ByteSource>> open_file(const std::filesystem::path& path);
  static Result<std::unique_ptr<ByteSource>> from_memory(std::span<const std::uint8_t> bytes,
                                                         std::string name);
  ByteSource(const ByteSource&) = delete;
  ByteSource& operator=(const ByteSource&) = delete;
  ~ByteSource();

  std::int64_t size() const { return size_; }
  const std::string& name() const { return name_; }
  // Copies up to out.size() bytes from `offset`; fewer at the end; -1 if the system refuses.
  std::int64_t read_at(std::int64_t offset, std::span<std::uint8_t> out) const;
  Result<std::vector<std::uint8_t>> read_all(std::int64_t limit_bytes) const;

  // The view for FFmpeg; reads fail once `stop` is requested. Belongs to this source.
  AVIOContext* make_io(std::stop_token stop);

 private:
  ByteSource() = default;
  static int read_callback(void* self, std::uint8_t* buffer, int length);
  static std::int64_t seek_callback(void* self, std::int64_t offset, int whence);

  std::string name_;
  int descriptor_ = -1;
  std::span<const std::uint8_t> memory_;
  std::int64_t size_ = 0;
  std::int64_t position_ = 0;
  std::stop_token stop_;
  AVIOContext* io_ = nullptr;
};

}  // namespace lintel::media
