// Answers about backups, exports, imports and erasures as JSON, for the API and the command line.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "view/safekeeping.h"

namespace lintel::formats {

std::string write_backup_json(const view::BackupSummary& backup);
std::string write_restore_json(const view::RestoreSummary& restore);
// {"items": [...], "next": null}
std::string write_backup_list_json(const std::vector<view::BackupFile>& files);
std::string write_export_json(const view::ExportSummary& summary);
std::string write_import_json(const view::ImportSummary& summary);
std::string write_erasure_json(const view::ErasureSummary& summary);
std::string write_check_json(std::int64_t media_files, std::int64_t media_bytes,
                             const std::vector<std::string>& missing_media,
                             const std::vector<std::string>& damaged_media,
                             std::int64_t removed_files);

}  // namespace lintel::formats
