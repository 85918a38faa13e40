// Walks through the parts of a backup in their order and checks each. Inside app/.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>

#include "base/progress.h"
#include "base/result.h"
#include "formats/backup_json.h"
#include "secure/stream_file.h"
#include "view/safekeeping.h"

namespace lintel::app {

// What is done with each part; any may be empty. What they get is genuine so far, but a later part
// may turn out to be damaged.
struct BackupVisitor {
  std::function<Result<void>(const formats::BackupAbout&)> about;
  std::function<Result<void>(const view::TableShape&, const view::TableRow&)> row;
  std::function<Result<void>(const formats::BackupManifest&)> manifest;
  std::function<Result<void>(const formats::BackupMedia&)> media_begin;
  std::function<Result<void>(std::string_view)> media_data;
  std::function<Result<void>()> media_end;  // its digest was right
  bool stop_after_tables = false;           // the media were seen in another walk
};

// Errors: those of StreamFileReader::read and of the visitor; Invalid, Unsupported.
Result<view::BackupSummary> walk_backup(const secure::StreamFileReader& file,
                                        const BackupVisitor& visitor, const WorkContext& work);

// Names of the parts.
inline constexpr std::string_view kAboutPart = "about.json";
inline constexpr std::string_view kManifestPart = "manifest.json";
inline constexpr std::string_view kEndPart = "end.json";
inline constexpr std::string_view kTablesPart = "tables/";  // tables/<name>/<000001>.jsonl
inline constexpr std::string_view kMediaPart = "media/";    // media/<sha256>

}  // namespace lintel::app
