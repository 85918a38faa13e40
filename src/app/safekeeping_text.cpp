#include "app/safekeeping_text.h"

#include "base/cautions.h"
#include "base/text.h"
#include "formats/safekeeping_json.h"

namespace lintel::app {
namespace {

std::string size_text(std::int64_t bytes) {
  if (bytes < 10'000) return text("%lld bytes", static_cast<long long>(bytes));
  if (bytes < 10'000'000) return text("%.1f kB", static_cast<double>(bytes) / 1e3);
  if (bytes < 10'000'000'000) return text("%.1f MB", static_cast<double>(bytes) / 1e6);
  return text("%.1f GB", static_cast<double>(bytes) / 1e9);
}

std::string plural(std::int64_t count, const std::string& one) {
  std::string word = one;
  for (char& letter : word) {
    if (letter == '_') letter = ' ';
  }
  if (count != 1 && word.back() != 's') word += "s";
  return std::to_string(count) + " " + word;
}

std::string counts_text(const std::vector<view::NamedCount>& counts) {
  std::string out;
  for (const auto& [name, count] : counts) {
    if (count > 0) out += (out.empty() ? "" : ", ") + plural(count, name);
  }
  return out.empty() ? "nothing" : out;
}

std::int64_t rows_of(const view::BackupSummary& backup, std::string_view table) {
  for (const auto& [name, rows] : backup.tables) {
    if (name == table) return rows;
  }
  return 0;
}

std::string missing_text(const std::vector<std::string>& missing) {
  if (missing.empty()) return {};
  std::string out = "NOT IN IT, for they cannot be read (" +
                    plural(static_cast<std::int64_t>(missing.size()), "file") + "):\n";
  for (const std::string& digest : missing) out += "  " + digest + "\n";
  return out;
}

std::string contents_text(const view::BackupSummary& backup) {
  return "  made      " + backup.made_at + " by Lintel " + backup.program_version + ", from " +
         backup.engine + "\n  holds     " + plural(rows_of(backup, "records"), "record") + " in " +
         plural(rows_of(backup, "record_versions"), "version") + ", " +
         plural(rows_of(backup, "accounts"), "account") + ", " +
         plural(rows_of(backup, "audit_trail"), "row") + " of the audit trail, " +
         plural(backup.media_files, "file") + " (" + size_text(backup.media_bytes) +
         ")\n  digest    " + backup.digest + "\n" + missing_text(backup.missing_media);
}

}  // namespace

Printed printed(const view::BackupSummary& backup, BackupAct act) {
  const bool made = act == BackupAct::Made;
  std::string out = (made ? "Backup made: " : "The backup is whole: ") + backup.file + " (" +
                    size_text(backup.bytes) + ", encrypted)\n" + contents_text(backup);
  if (made) {
    out +=
        "Keep the passphrase elsewhere than the file: without it nobody can read the backup, "
        "you neither.\n";
  }
  return {std::move(out), formats::write_backup_json(backup)};
}

Printed printed(const view::RestoreSummary& restore) {
  std::string out = "Restored from " + restore.backup.file + "\n" + contents_text(restore.backup);
  if (!restore.old_kept_in.empty()) {
    out += "What was here before is in " + restore.old_kept_in + " (same passphrase).\n";
  }
  out +=
      "Everybody signs in anew. Athletes who were erased after this backup was made are here "
      "again: erase them again.\n";
  return {std::move(out), formats::write_restore_json(restore)};
}

Printed printed(const std::vector<view::BackupFile>& files) {
  std::string out;
  for (const view::BackupFile& file : files) {
    out +=
        file.made_at + "  " + text("%10s", size_text(file.bytes).c_str()) + "  " + file.name + "\n";
  }
  if (files.empty()) out = "There are no backups here. Make one with: lintel backup make\n";
  return {std::move(out), formats::write_backup_list_json(files)};
}

Printed printed(const view::ExportSummary& summary) {
  return {"Exported to " + summary.file + "\n  " + counts_text(summary.records) + " in " +
              plural(summary.versions, "version") + ", " + plural(summary.media_files, "file") +
              " (" + size_text(summary.media_bytes) + ")\n" + missing_text(summary.missing_media) +
              "The archive is not encrypted: hand it on only as the athlete wants it.\n\n" +
              cautions_text(),
          formats::write_export_json(summary)};
}

Printed printed(const view::ImportSummary& summary) {
  std::string out = "Taken in: " + summary.name + " (" + summary.athlete + ")\n  " +
                    counts_text(summary.records) + " in " + plural(summary.versions, "version") +
                    ", " + plural(summary.media_files, "file") + "\n";
  for (const std::string& person : summary.unknown_people) {
    out += "  " + person + " has no account here and is kept by name\n";
  }
  for (const std::string& id : summary.library) {
    out += "  " + id + " came along: an own protocol or drill that was not here\n";
  }
  return {out + "\n" + cautions_text(), formats::write_import_json(summary)};
}

Printed printed(const view::ErasureSummary& summary) {
  std::string out = "Erased at " + summary.erased_at + ": " + counts_text(summary.records) + ", " +
                    plural(summary.media_files, "file") + " (" + size_text(summary.media_bytes) +
                    ")\nWhat stays:\n";
  for (const std::string& kept : summary.kept) out += "  - " + kept + "\n";
  return {std::move(out), formats::write_erasure_json(summary)};
}

Printed printed(const CheckSummary& check, const Collected& removed) {
  const bool whole = check.missing_media.empty() && check.damaged_media.empty();
  std::string out = "Database and records: whole\nMedia: " + plural(check.media_files, "file") +
                    " (" + size_text(check.media_bytes) + ") are what they were\n";
  const auto list = [&](const std::vector<std::string>& digests, const std::string& what) {
    for (const std::string& digest : digests) out += "  " + what + "  " + digest + "\n";
  };
  list(check.missing_media, "MISSING");
  list(check.damaged_media, "DAMAGED");
  if (!whole) out += "Take these files from a backup.\n";
  if (removed.files > 0) {
    out += "Removed " + plural(removed.files, "file") + " (" + size_text(removed.bytes) +
           ") that nothing refers to\n";
  }
  return {std::move(out),
          formats::write_check_json(check.media_files, check.media_bytes, check.missing_media,
                                    check.damaged_media, removed.files)};
}

}  // namespace lintel::app
