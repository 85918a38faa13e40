// What came of backups, exports, imports and erasures, for texts and JSON.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace lintel::view {

using NamedCount = std::pair<std::string, std::int64_t>;

struct BackupSummary {
  std::string file;     // path
  std::string made_at;  // ISO 8601 UTC
  std::string program_version, engine;
  std::int64_t schema_version = 0;
  std::int64_t bytes = 0;          // of the encrypted file
  std::string digest;              // of all records
  std::vector<NamedCount> tables;  // rows
  std::int64_t media_files = 0, media_bytes = 0;
  std::vector<std::string> missing_media;  // that records refer to and that could not be read
};

struct RestoreSummary {
  BackupSummary backup;
  std::string old_kept_in;  // backup of what was there before; empty = it was empty
};

struct BackupFile {
  std::string name, made_at;
  std::int64_t bytes = 0;
};

struct ExportSummary {
  std::string file;                 // path
  std::string athlete;              // id
  std::vector<NamedCount> records;  // by kind
  std::int64_t versions = 0;
  std::int64_t media_files = 0, media_bytes = 0;
  std::vector<std::string> missing_media;
};

struct ImportSummary {
  std::string athlete;  // id, the same as where it came from
  std::string name;
  std::vector<NamedCount> records;
  std::int64_t versions = 0;
  std::int64_t media_files = 0;
  std::vector<std::string> unknown_people;  // names of authors who have no account here
  std::vector<std::string> library;         // ids of own protocols and drills that came along
};

struct ErasureSummary {
  std::string athlete, erased_at;
  std::vector<NamedCount> records;
  std::int64_t media_files = 0, media_bytes = 0;
  std::int64_t uploads = 0;
  bool account = false;           // there was one
  std::vector<std::string> kept;  // what stays, in full sentences
};

}  // namespace lintel::view
