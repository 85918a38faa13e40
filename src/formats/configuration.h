// lintel.toml: what one workplace is set up to do.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::formats {

struct BackupSettings {
  std::string folder;                  // empty = no scheduled backups
  std::vector<std::string> times_utc;  // "03:30", in order; with a folder, at least one
  int keep_daily = 7;                  // the newest of each of the last days that have one
  int keep_weekly = 4;                 // the newest of each of the last weeks that have one
  std::string passphrase_file;         // first line is the passphrase
};

struct Configuration {
  std::string database_url;   // empty = SQLite in the data folder
  std::string media_folder;   // empty = media in the data folder
  std::string models_folder;  // of the networks; empty = found by itself
  std::string listen = "127.0.0.1:8421";
  std::int64_t upload_limit_bytes = std::int64_t{4} << 30;
  BackupSettings backup;
};

struct ConfigurationReading {
  std::optional<Configuration> configuration;  // only when there is no fault
  std::vector<Error> faults;                   // in file order, at most 100
};

// Strict: an unknown table or key is a fault that names the nearest known one; every fault has its
// field, line and column. Limit: 64 KiB. Never throws. Paths are given as written; the caller makes
// relative ones start at the file's folder.
ConfigurationReading read_configuration(std::string_view text, std::string_view file_name);

}  // namespace lintel::formats
