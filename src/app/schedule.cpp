#include "app/schedule.h"

#include <algorithm>
#include <filesystem>
#include <set>

#include "app/backup.h"
#include "base/date.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

Date day_of(const view::BackupFile& file) {
  const auto day = Date::parse(std::string_view(file.made_at).substr(0, 10));
  return day ? *day : Date();
}

// Monday of its week.
Date week_of(const view::BackupFile& file) {
  const Date day = day_of(file);
  return day - static_cast<int>(day.weekday());
}

}  // namespace

std::string last_due(const std::vector<std::string>& times_utc, std::string_view now) {
  const std::string day(now.substr(0, 10));
  const auto today = Date::parse(day);
  if (times_utc.empty() || !today) return {};
  std::vector<std::string> times = times_utc;
  std::sort(times.begin(), times.end());
  const std::string time(now.substr(11, 5));
  const auto after = std::upper_bound(times.begin(), times.end(), time);
  if (after != times.begin()) return day + "T" + *(after - 1) + ":00Z";
  return (*today - 1).iso() + "T" + times.back() + ":00Z";
}

bool backup_is_due(const std::vector<std::string>& times_utc, std::string_view now,
                   const std::vector<view::BackupFile>& made) {
  const std::string due = last_due(times_utc, now);
  if (due.empty()) return false;
  return std::none_of(made.begin(), made.end(),
                      [&](const view::BackupFile& file) { return file.made_at >= due; });
}

std::vector<view::BackupFile> backups_to_remove(std::vector<view::BackupFile> made, int daily,
                                                int weekly) {
  std::sort(made.begin(), made.end(),
            [](const auto& a, const auto& b) { return a.made_at > b.made_at; });
  std::set<Date> days, weeks;
  std::vector<view::BackupFile> out;
  for (const view::BackupFile& file : made) {
    // The first of a day or week is its newest.
    const bool new_day = days.insert(day_of(file)).second;
    const bool new_week = weeks.insert(week_of(file)).second;
    const bool kept = (new_day && static_cast<int>(days.size()) <= std::max(daily, 1)) ||
                      (new_week && static_cast<int>(weeks.size()) <= weekly);
    if (!kept) out.push_back(file);
  }
  return out;
}

Result<int> run_due_backups(Practice& practice, const WorkContext& work) {
  const formats::BackupSettings& settings = practice.settings.backup;
  if (settings.folder.empty()) return 0;
  const fs::path folder = settings.folder;
  std::vector<view::BackupFile> made = LINTEL_TRY(list_backups(folder));
  const std::string now = practice.now();
  if (!backup_is_due(settings.times_utc, now, made)) return 0;
  const secure::Passphrase passphrase =
      LINTEL_TRY(secure::read_passphrase_file(settings.passphrase_file));
  std::error_code code;
  fs::create_directories(folder, code);
  const fs::path target = folder / backup_name(now);
  LINTEL_TRY(make_backup(practice, target, passphrase, work));
  LINTEL_TRY_VOID(note_backup(practice, Caller::nobody(), "backup_made"));
  made = LINTEL_TRY(list_backups(folder));
  for (const view::BackupFile& old :
       backups_to_remove(made, settings.keep_daily, settings.keep_weekly)) {
    fs::remove(folder / old.name, code);
  }
  return 1;
}

}  // namespace lintel::app
