#include "cli/passphrase_prompt.h"

#include <fcntl.h>
#include <termios.h>
#include <unistd.h>

#include <cstdlib>
#include <utility>

namespace lintel::cli {
namespace {

// The terminal itself, with echo off while this lives.
class QuietTerminal {
 public:
  QuietTerminal() : file_(::open("/dev/tty", O_RDWR | O_CLOEXEC | O_NOCTTY)) {
    if (file_ < 0 || ::tcgetattr(file_, &before_) != 0) return;
    termios quiet = before_;
    quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    ready_ = ::tcsetattr(file_, TCSAFLUSH, &quiet) == 0;
  }
  QuietTerminal(const QuietTerminal&) = delete;
  QuietTerminal& operator=(const QuietTerminal&) = delete;
  ~QuietTerminal() {
    if (ready_) ::tcsetattr(file_, TCSAFLUSH, &before_);
    if (file_ >= 0) ::close(file_);
  }
  bool ready() const { return ready_; }

  secure::Passphrase ask(const std::string& words) const {
    say(words);
    std::string line;
    line.reserve(secure::Passphrase::kLongest + 1);  // so that no copy is left behind
    char letter = 0;
    while (::read(file_, &letter, 1) == 1 && letter != '\n' &&
           line.size() <= secure::Passphrase::kLongest) {
      line += letter;
    }
    say("\n");
    secure::Passphrase out(line);
    for (char& byte : line) *const_cast<volatile char*>(&byte) = 0;
    return out;
  }

 private:
  void say(const std::string& words) const {
    if (::write(file_, words.data(), words.size()) < 0) return;  // then it is asked without words
  }

  int file_;
  termios before_{};
  bool ready_ = false;
};

}  // namespace

Result<secure::Passphrase> get_passphrase(const std::string& file, PassphraseUse use) {
  if (!file.empty()) return secure::read_passphrase_file(file);
  const char* given = std::getenv("LINTEL_PASSPHRASE");
  if (given != nullptr && *given != '\0') return secure::Passphrase(given);
  const QuietTerminal terminal;
  if (!terminal.ready()) {
    return fail(ErrorCode::Invalid, "there is no passphrase and no terminal to ask for one",
                "set LINTEL_PASSPHRASE, or give --passphrase-file");
  }
  secure::Passphrase first = terminal.ask("Passphrase of the backup: ");
  if (use == PassphraseUse::New) {
    const secure::Passphrase second = terminal.ask("The same again: ");
    if (first.text() != second.text()) {
      return fail(ErrorCode::Invalid, "the two are not the same", "try again");
    }
  }
  return first;
}

}  // namespace lintel::cli
