// When backups are due and which old ones go. Without a clock and without files, but for the last
// function.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "app/practice.h"
#include "base/progress.h"
#include "base/result.h"
#include "view/safekeeping.h"

namespace lintel::app {

// The last time of day (UTC, "03:30") that is not after `now`, as an instant; empty without times.
std::string last_due(const std::vector<std::string>& times_utc, std::string_view now);

// A backup is due when none was made since the last time of day that has passed. `made`: when the
// backups were made, any order.
bool backup_is_due(const std::vector<std::string>& times_utc, std::string_view now,
                   const std::vector<view::BackupFile>& made);

// Those to be removed: all but the newest of each of the last `daily` days that have one, and the
// newest of each of the last `weekly` weeks (Monday to Sunday) that have one. The newest of all is
// never among them.
std::vector<view::BackupFile> backups_to_remove(std::vector<view::BackupFile> made, int daily,
                                                int weekly);

// What lintel.toml asks for, at practice.now(): makes a backup when one is due, then removes old
// ones. Answers how many were made (0 or 1). Call it every minute or so, from one process. Errors:
// those of make_backup and of the passphrase file; nothing is removed then.
Result<int> run_due_backups(Practice& practice, const WorkContext& work = {});

}  // namespace lintel::app
