// Encrypted files of any size: one passphrase, one stream, written and checked in pieces.
//
// Layout (integers little-endian):
//     0   8  "LNTLSEAL"
//     8   4  version, 1
//    12   4  bytes of plain text in a whole piece
//    16   4  passes of Argon2id
//    20   4  memory of Argon2id [KiB]
//    24  16  salt
//    40  24  header of the stream
//    64  16  BLAKE2b of the 64 bytes above, to tell a damaged header from a wrong passphrase
//    80      pieces, each 17 bytes longer than its plain text
// The key is Argon2id13(passphrase, salt); the pieces are crypto_secretstream_xchacha20poly1305 of
// libsodium. The first piece is empty and has the 80 bytes as additional data; the last one, and no
// other, is tagged FINAL. All between are whole. So a changed bit, pieces in another order or left
// out, a cut end, an added end, or another header fail.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>

#include "base/progress.h"
#include "base/result.h"
#include "secure/passphrase.h"

namespace lintel::secure {

struct StreamFileOptions {
  std::uint32_t passes = 3;               // Argon2id
  std::uint32_t memory_kib = 256 * 1024;  // Argon2id
  std::uint32_t piece_bytes = 64 * 1024;  // 1 KiB to 4 MiB
};

// Writes into a hidden file beside the target, readable by the owner alone; commit() puts it on the
// disk and gives it its name. Without commit() the destructor removes it.
class StreamFileWriter {
 public:
  // Errors: those of check_new_passphrase, Invalid for options, Conflict when the target exists,
  // NotFound, Denied, Io.
  static Result<StreamFileWriter> create(const std::filesystem::path& target,
                                         const Passphrase& passphrase,
                                         const StreamFileOptions& options = {});
  StreamFileWriter(StreamFileWriter&&) noexcept;
  StreamFileWriter& operator=(StreamFileWriter&&) = delete;
  ~StreamFileWriter();

  Result<void> write(std::string_view bytes);
  Result<void> commit();

 private:
  struct State;
  explicit StreamFileWriter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

// Gets the plain text in order, in pieces. An error stops the reading and is passed on.
using PlainSink = std::function<Result<void>(std::string_view)>;

// A file whose header was read and whose passphrase fits; the key is made once (which takes a
// second) and wiped in the end. Reads from the beginning each time.
class StreamFileReader {
 public:
  // Errors: NotFound, Io, Limit (no memory for the key); Denied for a wrong passphrase; Invalid
  // (not such a file, damaged, cut); Unsupported (newer version, or asks for more than 1 GiB of
  // memory or 64 passes).
  static Result<StreamFileReader> open(const std::filesystem::path& file,
                                       const Passphrase& passphrase);
  StreamFileReader(StreamFileReader&&) noexcept;
  StreamFileReader& operator=(StreamFileReader&&) = delete;
  ~StreamFileReader();

  const std::filesystem::path& file() const;
  // One pass over the whole file. What the sink has been given is genuine so far, but a later part
  // may fail: nothing may be done with it for good before this answers with success. For a check
  // alone give an empty sink. Answers the bytes of plain text. Errors: also Cancelled.
  Result<std::int64_t> read(const PlainSink& sink, const WorkContext& work = {}) const;

 private:
  struct State;
  explicit StreamFileReader(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

// Both in one.
Result<std::int64_t> read_stream_file(const std::filesystem::path& file,
                                      const Passphrase& passphrase, const PlainSink& sink,
                                      const WorkContext& work = {});

}  // namespace lintel::secure
