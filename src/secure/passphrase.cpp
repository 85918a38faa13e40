#include "secure/passphrase.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <system_error>
#include <utility>

#include <sodium.h>

#include "secure/sodium_ready.h"

namespace lintel::secure {

Passphrase::Passphrase(Passphrase&& other) noexcept : text_(other.text_) {
  other.wipe();
}

Passphrase& Passphrase::operator=(Passphrase&& other) noexcept {
  if (this != &other) {
    wipe();
    text_ = other.text_;
    other.wipe();
  }
  return *this;
}

Passphrase::~Passphrase() {
  wipe();
}

void Passphrase::wipe() {
  sodium_memzero(text_.data(), text_.size());
  text_.clear();
}

Result<void> check_new_passphrase(const Passphrase& passphrase) {
  const std::size_t size = passphrase.text().size();
  if (size >= Passphrase::kShortest && size <= Passphrase::kLongest) return {};
  return fail(
      ErrorCode::Invalid,
      size == 0 ? "there is no passphrase" : "the passphrase must have 12 to 1024 characters",
      "four or more words that do not belong together are good and can be remembered");
}

Result<Passphrase> read_passphrase_file(const std::filesystem::path& file) {
  const auto fault = [&](ErrorCode code, std::string message, std::string mend) {
    Error error{code, std::move(message), {}, std::move(mend), {}};
    error.with_file(file.string());
    return error;
  };
  const int descriptor = ::open(file.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY);
  if (descriptor < 0) {
    const int code = errno;
    return fail(
        fault(code == ENOENT || code == ENOTDIR ? ErrorCode::NotFound : ErrorCode::Io,
              "the passphrase file cannot be opened: " + std::generic_category().message(code),
              "check its name"));
  }
  struct stat status {};
  std::array<char, Passphrase::kLongest + 2> buffer{};
  const bool known = ::fstat(descriptor, &status) == 0;
  const ssize_t size = ::read(descriptor, buffer.data(), buffer.size());
  ::close(descriptor);
  if (!known || size < 0 || !S_ISREG(status.st_mode)) {
    return fail(fault(ErrorCode::Io, "the passphrase file cannot be read",
                      "give a plain file with the passphrase in its first line"));
  }
  std::string_view text(buffer.data(), static_cast<std::size_t>(size));
  const std::size_t end = text.find('\n');
  const bool whole = end != std::string_view::npos || text.size() <= Passphrase::kLongest;
  text = text.substr(0, end);
  if (!text.empty() && text.back() == '\r') text.remove_suffix(1);
  Passphrase passphrase(text);
  sodium_memzero(buffer.data(), buffer.size());
  if ((status.st_mode & 0077) != 0) {
    return fail(fault(ErrorCode::Denied, "others may read the passphrase file",
                      "make it readable by its owner alone: chmod 600"));
  }
  if (passphrase.empty() || !whole) {
    return fail(fault(ErrorCode::Invalid,
                      passphrase.empty() ? "the first line of the passphrase file is empty"
                                         : "the first line of the passphrase file is too long",
                      "write the passphrase into its first line"));
  }
  return passphrase;
}

}  // namespace lintel::secure
