// Where a passphrase comes from at the command line; never from an argument, which others can see.
#pragma once

#include <string>

#include "app/backup.h"
#include "base/result.h"

namespace lintel::cli {

enum class PassphraseUse : std::uint8_t { New, Known };

// From the file when one is named, else from the environment variable LINTEL_PASSPHRASE, else
// asked at the terminal without showing it (a new one twice). Errors: those of the file; Invalid
// when there is no terminal, or the two differ.
Result<secure::Passphrase> get_passphrase(const std::string& file, PassphraseUse use);

}  // namespace lintel::cli
