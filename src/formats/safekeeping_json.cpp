#include "formats/safekeeping_json.h"

#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

Json counts_json(const std::vector<view::NamedCount>& counts) {
  Json out = Json::object();
  for (const auto& [name, count] : counts) out[name] = count;
  return out;
}

std::string text_of(const Json& root) {
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Json backup_object(const view::BackupSummary& backup) {
  const std::size_t slash = backup.file.find_last_of('/');
  return {{"schema", "lintel-backup-summary-1"},
          {"file", backup.file},
          {"name", slash == std::string::npos ? backup.file : backup.file.substr(slash + 1)},
          {"made_at", backup.made_at},
          {"program_version", backup.program_version},
          {"engine", backup.engine},
          {"schema_version", backup.schema_version},
          {"bytes", backup.bytes},
          {"digest", backup.digest},
          {"rows", counts_json(backup.tables)},
          {"media_files", backup.media_files},
          {"media_bytes", backup.media_bytes},
          {"missing_media", backup.missing_media}};
}

}  // namespace

std::string write_backup_json(const view::BackupSummary& backup) {
  return text_of(backup_object(backup));
}

std::string write_restore_json(const view::RestoreSummary& restore) {
  Json root = {{"schema", "lintel-restore-summary-1"}, {"backup", backup_object(restore.backup)}};
  root["old_kept_in"] = restore.old_kept_in.empty() ? Json(nullptr) : Json(restore.old_kept_in);
  return text_of(root);
}

std::string write_backup_list_json(const std::vector<view::BackupFile>& files) {
  Json items = Json::array();
  for (const view::BackupFile& file : files) {
    items.push_back({{"name", file.name}, {"made_at", file.made_at}, {"bytes", file.bytes}});
  }
  return text_of({{"items", std::move(items)}, {"next", nullptr}});
}

std::string write_export_json(const view::ExportSummary& summary) {
  return text_of({{"schema", "lintel-export-summary-1"},
                  {"file", summary.file},
                  {"athlete", summary.athlete},
                  {"records", counts_json(summary.records)},
                  {"versions", summary.versions},
                  {"media_files", summary.media_files},
                  {"media_bytes", summary.media_bytes},
                  {"missing_media", summary.missing_media},
                  {"cautions", cautions_json()}});
}

std::string write_import_json(const view::ImportSummary& summary) {
  return text_of({{"schema", "lintel-import-summary-1"},
                  {"athlete", summary.athlete},
                  {"name", summary.name},
                  {"records", counts_json(summary.records)},
                  {"versions", summary.versions},
                  {"media_files", summary.media_files},
                  {"unknown_people", summary.unknown_people},
                  {"library", summary.library},
                  {"cautions", cautions_json()}});
}

std::string write_erasure_json(const view::ErasureSummary& summary) {
  return text_of({{"schema", "lintel-erasure-1"},
                  {"athlete", summary.athlete},
                  {"erased_at", summary.erased_at},
                  {"records", counts_json(summary.records)},
                  {"media_files", summary.media_files},
                  {"media_bytes", summary.media_bytes},
                  {"uploads", summary.uploads},
                  {"account", summary.account},
                  {"kept", summary.kept}});
}

std::string write_check_json(std::int64_t media_files, std::int64_t media_bytes,
                             const std::vector<std::string>& missing_media,
                             const std::vector<std::string>& damaged_media,
                             std::int64_t removed_files) {
  return text_of({{"schema", "lintel-check-1"},
                  {"whole", missing_media.empty() && damaged_media.empty()},
                  {"media_files", media_files},
                  {"media_bytes", media_bytes},
                  {"missing_media", missing_media},
                  {"damaged_media", damaged_media},
                  {"removed_files", removed_files}});
}

}  // namespace lintel::formats
