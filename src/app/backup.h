// Backups of a whole workplace: one encrypted file with all organizations, accounts, the audit
// trail, every version of every record and the media. Any engine's backup can be restored into any.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "secure/passphrase.h"
#include "secure/stream_file.h"
#include "view/safekeeping.h"

namespace lintel::app {

inline constexpr const char* kBackupEnding = ".lintel-backup";
// "lintel-20260309T070530Z.lintel-backup"; `now` is ISO 8601 UTC.
std::string backup_name(std::string_view now);

// Writes the file (it may not exist yet). What other people do meanwhile goes on; the backup has
// the state of one moment. Errors: those of StreamFileWriter, Io, Cancelled.
Result<view::BackupSummary> make_backup(Practice& practice, const std::filesystem::path& target,
                                        const secure::Passphrase& passphrase,
                                        const WorkContext& work = {},
                                        const secure::StreamFileOptions& sealing = {});

// Reads all of it: every byte is genuine, every row fits its table, every digest is right. Touches
// nothing. Errors: those of read_stream_file, Invalid.
Result<view::BackupSummary> check_backup(const std::filesystem::path& file,
                                         const secure::Passphrase& passphrase,
                                         const WorkContext& work = {});

enum class RestoreInto : std::uint8_t {
  Empty,    // only a workplace that holds nothing
  Replace,  // first a backup of what is there is made beside, with the same passphrase
};
// Checks the whole file as check_backup does, then fills the workplace in one transaction that is
// kept only when digest_of_everything is that of the backup. On an error nothing has changed but
// for media that nothing refers to. Errors: also Conflict (not empty), Unsupported (another version
// of the schema).
Result<view::RestoreSummary> restore_backup(Practice& practice, const std::filesystem::path& file,
                                            const secure::Passphrase& passphrase, RestoreInto into,
                                            const WorkContext& work = {},
                                            const secure::StreamFileOptions& sealing = {});

// A row in the audit trail of every organization, for it is about all of them.
Result<void> note_backup(Practice& practice, const Caller& caller, std::string_view action);

// Files with names as backup_name makes them, the newest first. A folder that is not there has
// none.
Result<std::vector<view::BackupFile>> list_backups(const std::filesystem::path& folder);
// Where backups go when nothing is said: [backup] folder of lintel.toml, else <data>/backups.
std::filesystem::path backup_folder(const Practice& practice);

}  // namespace lintel::app
