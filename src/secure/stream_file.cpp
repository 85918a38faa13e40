#include "secure/stream_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <system_error>
#include <utility>
#include <vector>

#include <sodium.h>

#include "secure/sodium_ready.h"

namespace lintel::secure {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view kMagic = "LNTLSEAL";
constexpr std::uint32_t kVersion = 1;
constexpr std::size_t kSaltAt = 24;
constexpr std::size_t kStreamHeaderAt = 40;
constexpr std::size_t kCheckAt = 64;
constexpr std::size_t kCheckBytes = 16;
constexpr std::size_t kHeaderBytes = kCheckAt + kCheckBytes;
constexpr std::size_t kExtra = crypto_secretstream_xchacha20poly1305_ABYTES;
constexpr std::uint32_t kSmallestPiece = 1 << 10;
constexpr std::uint32_t kLargestPiece = 4 << 20;
constexpr std::uint32_t kMostMemoryKib = 1 << 20;
constexpr std::uint32_t kMostPasses = 64;
static_assert(crypto_secretstream_xchacha20poly1305_HEADERBYTES == kCheckAt - kStreamHeaderAt);
static_assert(crypto_pwhash_SALTBYTES == kStreamHeaderAt - kSaltAt);

using Header = std::array<unsigned char, kHeaderBytes>;
using Key = std::array<unsigned char, crypto_secretstream_xchacha20poly1305_KEYBYTES>;
using Stream = crypto_secretstream_xchacha20poly1305_state;

void put_u32(Header& header, std::size_t at, std::uint32_t value) {
  for (std::size_t i = 0; i < 4; ++i) header[at + i] = static_cast<unsigned char>(value >> (8 * i));
}

std::uint32_t get_u32(const Header& header, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) value |= std::uint32_t{header[at + i]} << (8 * i);
  return value;
}

std::array<unsigned char, kCheckBytes> check_of(const Header& header) {
  std::array<unsigned char, kCheckBytes> check{};
  crypto_generichash(check.data(), check.size(), header.data(), kCheckAt, nullptr, 0);
  return check;
}

Error file_error(ErrorCode code, const fs::path& file, std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(file.string());
  return error;
}

Error system_error(int code, const fs::path& file, const std::string& what) {
  ErrorCode kind = ErrorCode::Io;
  std::string mend = "check free space and the state of the disk";
  if (code == ENOENT || code == ENOTDIR) {
    kind = ErrorCode::NotFound;
    mend = "check the name; the folder must be there";
  } else if (code == EACCES || code == EPERM || code == EROFS) {
    kind = ErrorCode::Denied;
    mend = "choose a place where this account may write";
  } else if (code == EEXIST) {
    kind = ErrorCode::Conflict;
    mend = "choose another name";
  }
  return file_error(kind, file, what + ": " + std::generic_category().message(code), mend);
}

Error damaged(const fs::path& file, const std::string& what) {
  return file_error(ErrorCode::Invalid, file, what + "; nothing of it was used",
                    "take another copy of this backup");
}

// Wiped when it goes.
struct KeyHolder {
  Key key{};
  Stream stream{};
  KeyHolder() = default;
  KeyHolder(const KeyHolder&) = delete;
  KeyHolder& operator=(const KeyHolder&) = delete;
  ~KeyHolder() {
    sodium_memzero(key.data(), key.size());
    sodium_memzero(&stream, sizeof stream);
  }
};

Result<void> derive_key(const Passphrase& passphrase, const Header& header, Key& key) {
  const std::string_view text = passphrase.text();
  const int status = crypto_pwhash(
      key.data(), key.size(), text.data(), text.size(), header.data() + kSaltAt,
      get_u32(header, 16), std::size_t{get_u32(header, 20)} * 1024, crypto_pwhash_ALG_ARGON2ID13);
  if (status == 0) return {};
  return fail(ErrorCode::Limit,
              "there is not enough memory to make the key from the passphrase (" +
                  std::to_string(get_u32(header, 20) / 1024) + " MiB are needed)",
              "close other programs, or use another machine");
}

class Descriptor {
 public:
  explicit Descriptor(int value = -1) : value_(value) {}
  Descriptor(Descriptor&& other) noexcept : value_(std::exchange(other.value_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(value_, other.value_);
    return *this;
  }
  ~Descriptor() {
    if (value_ >= 0) ::close(value_);
  }
  int get() const { return value_; }

 private:
  int value_;
};

int write_all(int descriptor, const unsigned char* data, std::size_t size) {
  while (size > 0) {
    const ssize_t done = ::write(descriptor, data, size);
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return errno;
    data += done;
    size -= static_cast<std::size_t>(done);
  }
  return 0;
}

// As many bytes as there are, at most `size`; -1 with errno.
ssize_t read_all(int descriptor, unsigned char* data, std::size_t size) {
  std::size_t have = 0;
  while (have < size) {
    const ssize_t done = ::read(descriptor, data + have, size - have);
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return -1;
    if (done == 0) break;
    have += static_cast<std::size_t>(done);
  }
  return static_cast<ssize_t>(have);
}

// A file that came under the new name meanwhile is not replaced, where the file system can tell.
int rename_to_new(const fs::path& from, const fs::path& to) {
  if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return 0;
  if (errno != EINVAL && errno != ENOSYS) return errno;
  if (::access(to.c_str(), F_OK) == 0) return EEXIST;
  return ::rename(from.c_str(), to.c_str()) == 0 ? 0 : errno;
}

Result<void> check_options(const StreamFileOptions& options) {
  if (options.passes >= 1 && options.passes <= kMostPasses && options.memory_kib >= 8 &&
      options.memory_kib <= kMostMemoryKib && options.piece_bytes >= kSmallestPiece &&
      options.piece_bytes <= kLargestPiece) {
    return {};
  }
  return fail(ErrorCode::Invalid, "passes, memory or piece size lie outside of what is allowed",
              "use the usual values");
}

}  // namespace

// ---- Writing

struct StreamFileWriter::State {
  fs::path target, temporary;
  Descriptor file;
  KeyHolder keys;
  std::size_t piece_bytes = 0;
  std::string plain;                  // not yet sealed, less than a piece
  std::vector<unsigned char> sealed;  // room for one piece
  bool broken = false;

  ~State() {
    sodium_memzero(plain.data(), plain.size());
    if (!temporary.empty()) ::unlink(temporary.c_str());
  }

  Result<void> seal(std::string_view bytes, unsigned char tag,
                    std::span<const unsigned char> with) {
    unsigned long long size = 0;
    sealed.resize(bytes.size() + kExtra);
    crypto_secretstream_xchacha20poly1305_push(&keys.stream, sealed.data(), &size,
                                               reinterpret_cast<const unsigned char*>(bytes.data()),
                                               bytes.size(), with.data(), with.size(), tag);
    const int code = write_all(file.get(), sealed.data(), static_cast<std::size_t>(size));
    if (code == 0) return {};
    broken = true;
    return fail(system_error(code, target, "cannot write"));
  }

  Result<void> make_temporary() {
    static std::atomic<unsigned> counter{0};
    if (::access(target.c_str(), F_OK) == 0) {
      return fail(file_error(ErrorCode::Conflict, target, "this file exists already",
                             "choose another name; nothing is replaced"));
    }
    const std::string name = "." + target.filename().string() + "." + std::to_string(::getpid()) +
                             "-" + std::to_string(counter++) + ".part";
    temporary = target.parent_path() / name;
    file = Descriptor(::open(temporary.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600));
    if (file.get() >= 0) return {};
    const int code = errno;
    temporary.clear();
    return fail(system_error(code, target, "cannot write"));
  }

  Result<void> start(const Passphrase& passphrase, const StreamFileOptions& options) {
    Header header{};
    std::memcpy(header.data(), kMagic.data(), kMagic.size());
    put_u32(header, 8, kVersion);
    put_u32(header, 12, options.piece_bytes);
    put_u32(header, 16, options.passes);
    put_u32(header, 20, options.memory_kib);
    randombytes_buf(header.data() + kSaltAt, crypto_pwhash_SALTBYTES);
    LINTEL_TRY_VOID(derive_key(passphrase, header, keys.key));
    crypto_secretstream_xchacha20poly1305_init_push(&keys.stream, header.data() + kStreamHeaderAt,
                                                    keys.key.data());
    const auto check = check_of(header);
    std::copy(check.begin(), check.end(), header.begin() + kCheckAt);
    const int code = write_all(file.get(), header.data(), header.size());
    if (code != 0) return fail(system_error(code, target, "cannot write"));
    return seal({}, crypto_secretstream_xchacha20poly1305_TAG_MESSAGE, header);
  }
};

StreamFileWriter::StreamFileWriter(std::unique_ptr<State> state) : state_(std::move(state)) {}
StreamFileWriter::StreamFileWriter(StreamFileWriter&&) noexcept = default;
StreamFileWriter::~StreamFileWriter() = default;

Result<StreamFileWriter> StreamFileWriter::create(const fs::path& target,
                                                  const Passphrase& passphrase,
                                                  const StreamFileOptions& options) {
  sodium_ready();
  LINTEL_TRY_VOID(check_new_passphrase(passphrase));
  LINTEL_TRY_VOID(check_options(options));
  auto state = std::make_unique<State>();
  state->target = target;
  state->piece_bytes = options.piece_bytes;
  LINTEL_TRY_VOID(state->make_temporary());
  LINTEL_TRY_VOID(state->start(passphrase, options));
  return StreamFileWriter(std::move(state));
}

Result<void> StreamFileWriter::write(std::string_view bytes) {
  State& state = *state_;
  while (!bytes.empty()) {
    const std::size_t taken = std::min(bytes.size(), state.piece_bytes - state.plain.size());
    state.plain.append(bytes.substr(0, taken));
    bytes.remove_prefix(taken);
    if (state.plain.size() < state.piece_bytes) break;
    LINTEL_TRY_VOID(state.seal(state.plain, crypto_secretstream_xchacha20poly1305_TAG_MESSAGE, {}));
    state.plain.clear();
  }
  return {};
}

Result<void> StreamFileWriter::commit() {
  State& state = *state_;
  if (state.broken || state.temporary.empty()) {
    return fail(ErrorCode::Io, "the file could not be written", "check free space");
  }
  LINTEL_TRY_VOID(state.seal(state.plain, crypto_secretstream_xchacha20poly1305_TAG_FINAL, {}));
  if (::fsync(state.file.get()) != 0) {
    return fail(system_error(errno, state.target, "cannot write"));
  }
  const int code = rename_to_new(state.temporary, state.target);
  if (code != 0) return fail(system_error(code, state.target, "cannot give the file its name"));
  state.temporary.clear();
  const fs::path parent = state.target.has_parent_path() ? state.target.parent_path() : ".";
  const Descriptor folder(::open(parent.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (folder.get() >= 0) ::fsync(folder.get());
  return {};
}

// ---- Reading

namespace {

Result<Header> read_header(int descriptor, const fs::path& file) {
  Header header{};
  const ssize_t size = read_all(descriptor, header.data(), header.size());
  if (size < 0) return fail(system_error(errno, file, "cannot read"));
  const std::string_view magic(reinterpret_cast<const char*>(header.data()), kMagic.size());
  if (size < static_cast<ssize_t>(kMagic.size()) || magic != kMagic) {
    return fail(file_error(ErrorCode::Invalid, file, "this is not an encrypted file of Lintel",
                           "give a file that `lintel backup make` wrote"));
  }
  if (size < static_cast<ssize_t>(kHeaderBytes)) {
    return fail(damaged(file, "the file is cut off in its header"));
  }
  const auto check = check_of(header);
  if (!std::equal(check.begin(), check.end(), header.begin() + kCheckAt)) {
    return fail(damaged(file, "the header of the file is damaged"));
  }
  if (get_u32(header, 8) != kVersion) {
    return fail(file_error(ErrorCode::Unsupported, file,
                           "the file has version " + std::to_string(get_u32(header, 8)) +
                               " of the format; this program reads version 1",
                           "use the newer program that wrote it"));
  }
  const StreamFileOptions options{get_u32(header, 16), get_u32(header, 20), get_u32(header, 12)};
  if (!check_options(options)) {
    return fail(file_error(ErrorCode::Unsupported, file,
                           "the file asks for more work or memory than is allowed (64 passes, "
                           "1 GiB, pieces of 4 MiB)",
                           "give a file that `lintel backup make` wrote"));
  }
  return header;
}

// Takes pieces off the stream until the last one.
class PieceReader {
 public:
  PieceReader(const fs::path& file, int descriptor, const Header& header, KeyHolder& keys)
      : file_(file),
        descriptor_(descriptor),
        header_(header),
        keys_(keys),
        sealed_(get_u32(header, 12) + kExtra),
        plain_(get_u32(header, 12)) {}
  ~PieceReader() { sodium_memzero(plain_.data(), plain_.size()); }
  PieceReader(const PieceReader&) = delete;
  PieceReader& operator=(const PieceReader&) = delete;

  // The first, empty piece proves the passphrase and the header.
  Result<void> open_first() {
    const ssize_t size = read_all(descriptor_, sealed_.data(), kExtra);
    if (size < 0) return fail(system_error(errno, file_, "cannot read"));
    if (size < static_cast<ssize_t>(kExtra)) {
      return fail(damaged(file_, "the file is cut off after its header"));
    }
    unsigned char tag = 0;
    if (crypto_secretstream_xchacha20poly1305_pull(&keys_.stream, nullptr, nullptr, &tag,
                                                   sealed_.data(), kExtra, header_.data(),
                                                   header_.size()) != 0) {
      return fail(file_error(ErrorCode::Denied, file_,
                             "the passphrase does not fit this file (or its first 97 bytes were "
                             "forged); nothing of it was used",
                             "check the passphrase: capital letters, spaces, the language of the "
                             "keyboard"));
    }
    offset_ = kHeaderBytes + kExtra;
    return {};
  }

  // The next piece, good until the next call.
  Result<std::string_view> next() {
    const ssize_t size = read_all(descriptor_, sealed_.data(), sealed_.size());
    if (size < 0) return fail(system_error(errno, file_, "cannot read"));
    if (size < static_cast<ssize_t>(kExtra)) {
      return fail(
          damaged(file_, "the file is cut off after " + std::to_string(offset_ + size) + " bytes"));
    }
    unsigned long long length = 0;
    unsigned char tag = 0;
    if (crypto_secretstream_xchacha20poly1305_pull(
            &keys_.stream, plain_.data(), &length, &tag, sealed_.data(),
            static_cast<unsigned long long>(size), nullptr, 0) != 0) {
      return fail(damaged(file_, "the file is damaged or cut off between byte " +
                                     std::to_string(offset_) + " and byte " +
                                     std::to_string(offset_ + size)));
    }
    offset_ += size;
    last_ = tag == crypto_secretstream_xchacha20poly1305_TAG_FINAL;
    if (!last_ && static_cast<std::size_t>(size) != sealed_.size()) {
      return fail(
          damaged(file_, "the file is cut off after " + std::to_string(offset_) + " bytes"));
    }
    if (last_) LINTEL_TRY_VOID(check_end());
    return std::string_view(reinterpret_cast<const char*>(plain_.data()),
                            static_cast<std::size_t>(length));
  }
  bool last() const { return last_; }
  std::int64_t offset() const { return offset_; }

 private:
  Result<void> check_end() {
    unsigned char more = 0;
    if (read_all(descriptor_, &more, 1) == 0) return {};
    return fail(damaged(file_, "something was added behind the end of the file"));
  }

  const fs::path& file_;
  int descriptor_;
  const Header& header_;
  KeyHolder& keys_;
  std::vector<unsigned char> sealed_, plain_;
  std::int64_t offset_ = 0;
  bool last_ = false;
};

}  // namespace

struct StreamFileReader::State {
  fs::path file;
  Header header{};
  KeyHolder keys;  // its key; every pass has a stream of its own
};

StreamFileReader::StreamFileReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
StreamFileReader::StreamFileReader(StreamFileReader&&) noexcept = default;
StreamFileReader::~StreamFileReader() = default;

const fs::path& StreamFileReader::file() const {
  return state_->file;
}

namespace {

struct OpenFile {
  Descriptor descriptor;
  std::int64_t bytes = 0;
  Header header{};
};

Result<OpenFile> open_file(const fs::path& file) {
  OpenFile out{Descriptor(::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY))};
  if (out.descriptor.get() < 0) return fail(system_error(errno, file, "cannot be opened"));
  struct stat status {};
  if (::fstat(out.descriptor.get(), &status) != 0 || !S_ISREG(status.st_mode)) {
    return fail(file_error(ErrorCode::Invalid, file, "this is not a plain file", "give a file"));
  }
  out.bytes = status.st_size;
  out.header = LINTEL_TRY(read_header(out.descriptor.get(), file));
  return out;
}

Result<void> start_pull(const fs::path& file, const Header& header, KeyHolder& keys) {
  if (crypto_secretstream_xchacha20poly1305_init_pull(&keys.stream, header.data() + kStreamHeaderAt,
                                                      keys.key.data()) == 0) {
    return {};
  }
  return fail(damaged(file, "the header of the file is damaged"));
}

}  // namespace

Result<StreamFileReader> StreamFileReader::open(const fs::path& file,
                                                const Passphrase& passphrase) {
  sodium_ready();
  const OpenFile input = LINTEL_TRY(open_file(file));
  auto state = std::make_unique<State>();
  state->file = file;
  state->header = input.header;
  LINTEL_TRY_VOID(derive_key(passphrase, state->header, state->keys.key));
  LINTEL_TRY_VOID(start_pull(file, state->header, state->keys));
  PieceReader first(file, input.descriptor.get(), state->header, state->keys);
  LINTEL_TRY_VOID(first.open_first());
  return StreamFileReader(std::move(state));
}

Result<std::int64_t> StreamFileReader::read(const PlainSink& sink, const WorkContext& work) const {
  const fs::path& file = state_->file;
  const OpenFile input = LINTEL_TRY(open_file(file));
  if (input.header != state_->header) {
    return fail(damaged(file, "the file was changed while it was read"));
  }
  KeyHolder keys;
  keys.key = state_->keys.key;
  LINTEL_TRY_VOID(start_pull(file, state_->header, keys));
  PieceReader pieces(file, input.descriptor.get(), state_->header, keys);
  LINTEL_TRY_VOID(pieces.open_first());
  std::int64_t total = 0;
  while (!pieces.last()) {
    if (work.cancelled()) return fail(cancelled_error());
    const std::string_view plain = LINTEL_TRY(pieces.next());
    total += static_cast<std::int64_t>(plain.size());
    if (sink && !plain.empty()) LINTEL_TRY_VOID(sink(plain));
    work.report("read the encrypted file", static_cast<double>(pieces.offset()),
                static_cast<double>(input.bytes));
  }
  return total;
}

Result<std::int64_t> read_stream_file(const fs::path& file, const Passphrase& passphrase,
                                      const PlainSink& sink, const WorkContext& work) {
  return LINTEL_TRY(StreamFileReader::open(file, passphrase)).read(sink, work);
}

}  // namespace lintel::secure
