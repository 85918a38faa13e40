// The parts of a backup (docs/privacy-and-security.md): about.json, rows of tables as JSON lines,
// manifest.json, end.json.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "view/table_rows.h"

namespace lintel::formats {

// "lintel-backup-1": what comes first, so that a reader can refuse early.
struct BackupAbout {
  std::string made_at;  // ISO 8601 UTC
  std::string program_version;
  std::string engine;  // "sqlite", "postgresql"
  std::int64_t schema_version = 0;
  std::vector<view::TableShape> tables;
};
std::string write_backup_about(const BackupAbout& about);
// Errors of all readers here: Invalid; Unsupported for another schema.
Result<BackupAbout> read_backup_about(std::string_view text);

// One array of values and a line feed. Doubles come back bit for bit.
std::string write_table_row(const view::TableRow& row);
Result<view::TableRow> read_table_row(std::string_view line, const view::TableShape& table);

struct BackupTable {
  std::string name;
  std::int64_t rows = 0;
  std::string sha256;  // of all its lines

  bool operator==(const BackupTable&) const = default;
};
struct BackupMedia {
  std::string sha256;
  std::int64_t bytes = 0;
};
// What the tables held and which media come next.
struct BackupManifest {
  std::string digest;  // store::digest_of_everything
  std::vector<BackupTable> tables;
  std::vector<BackupMedia> media;
};
std::string write_backup_manifest(const BackupManifest& manifest);
Result<BackupManifest> read_backup_manifest(std::string_view text);

// The last part: media that records refer to and that were not to be had.
std::string write_backup_end(const std::vector<std::string>& missing_media);
Result<std::vector<std::string>> read_backup_end(std::string_view text);

}  // namespace lintel::formats
