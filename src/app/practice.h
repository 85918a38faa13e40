// One workplace: its database, media and clock. Every use case of the records starts from it.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>

#include "app/access.h"
#include "base/result.h"
#include "formats/configuration.h"
#include "secure/password.h"
#include "store/database.h"
#include "store/media_folder.h"

namespace lintel::app {

struct PracticeOptions {
  std::filesystem::path data;        // folder; made when missing, readable by the owner alone
  std::string database;              // url; empty = sqlite in the folder (or what lintel.toml says)
  std::filesystem::path media;       // empty = <data>/media (or what lintel.toml says)
  std::filesystem::path models;      // of the networks; empty = found by itself
  std::function<std::string()> now;  // ISO 8601 UTC with milliseconds; empty = the clock
};

struct Practice {
  std::filesystem::path data;
  std::unique_ptr<store::Database> database;
  std::optional<store::MediaFolder> media;
  std::filesystem::path models;
  std::function<std::string()> now;
  secure::PassphraseCost passphrase_cost;  // tests that sign in often set kCheapestCost
  // What lintel.toml says, its paths made whole; the usual values where it says nothing.
  formats::Configuration settings;

  std::string today() const { return now().substr(0, 10); }
};

// Errors: those of Database::open and MediaFolder::open, Io for the folder, Invalid with line and
// key for lintel.toml. The usual folder is $XDG_DATA_HOME/lintel, else ~/.local/share/lintel.
Result<std::unique_ptr<Practice>> open_practice(const PracticeOptions& options);
std::filesystem::path usual_data_folder();
// The clock of the machine: "2026-03-09T07:05:30.123Z".
std::string clock_now();

}  // namespace lintel::app
