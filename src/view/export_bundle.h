// What an export of one athlete says about itself: every record with all versions, media, people.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "view/table_rows.h"

namespace lintel::view {

struct ExportVersion {
  std::int64_t version = 1;
  std::string state, changed_at, changed_by, reason;
  std::string sha256;  // of the document
};

// The columns beside the newest version, in the order of the names below.
struct ExportColumns {
  std::string date;  // ISO 8601 day or empty
  std::vector<TableRow> athlete, tests, drills, measures, due;
};
inline const std::vector<TableColumn> kExportAthlete = {
    {"name", ColumnType::Text},
    {"birth_date", ColumnType::Text},
    {"sex", ColumnType::Text},
    {"tags", ColumnType::Text}};  // with a line feed between them
inline const std::vector<TableColumn> kExportTests = {
    {"protocol", ColumnType::Text}, {"side", ColumnType::Text},
    {"date", ColumnType::Text},     {"unit", ColumnType::Text},
    {"value", ColumnType::Real},    {"standard_error", ColumnType::Real}};
inline const std::vector<TableColumn> kExportDrills = {{"drill", ColumnType::Text},
                                                       {"date", ColumnType::Text},
                                                       {"sets", ColumnType::Integer},
                                                       {"minutes", ColumnType::Real},
                                                       {"pain", ColumnType::Integer}};
inline const std::vector<TableColumn> kExportMeasures = {{"measure", ColumnType::Text},
                                                         {"date", ColumnType::Text},
                                                         {"unit", ColumnType::Text},
                                                         {"value", ColumnType::Real},
                                                         {"standard_error", ColumnType::Real}};
inline const std::vector<TableColumn> kExportDue = {{"what", ColumnType::Text},
                                                    {"date", ColumnType::Text}};

struct ExportMedia {
  std::string sha256, media_type;
  std::int64_t bytes = 0;

  bool operator==(const ExportMedia&) const = default;
};

struct ExportRecord {
  std::string id, kind, parent;  // parent: empty = none
  std::string created_at, created_by;
  std::vector<ExportVersion> versions;  // 1, 2, ... without gaps
  ExportColumns columns;
  std::vector<ExportMedia> media;  // that any of its versions refers to
};

struct ExportPerson {
  std::string id, name;  // an author
};

// A protocol or drill of the workplace's own that the records name.
struct ExportLibraryEntry {
  std::string kind;   // "protocol", "drill"
  std::string name;   // its id
  std::string state;  // "active", "archived"
  std::string sha256;
};

struct ExportManifest {
  std::string exported_at, program_version;
  std::string athlete;  // id
  std::vector<ExportPerson> people;
  std::vector<ExportRecord> records;  // the athlete first, a parent before its children
  std::vector<ExportLibraryEntry> library;
  std::vector<std::string> missing_media;  // digests that could not be read when it was made
};

}  // namespace lintel::view
