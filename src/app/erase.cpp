#include "app/erase.h"

#include <algorithm>
#include <chrono>
#include <filesystem>
#include <utility>

#include "app/audit.h"
#include "app/backup.h"
#include "app/record_access.h"
#include "app/uploads.h"
#include "store/idempotency.h"
#include "store/record_columns.h"
#include "store/records.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr std::int64_t kGarbageAge = 24 * 3600;  // [s]
constexpr std::size_t kShortestNamePart = 3;     // letters; shorter ones are in too many words

Error reason_error(std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = "reason";
  return error;
}

std::string lower_case(std::string_view text) {
  std::string out(text);
  for (char& letter : out) {
    if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter + 32);
  }
  return out;
}

// The audit trail outlives the athlete, so the name must not be in it.
Result<void> check_reason(std::string_view reason, std::string_view name) {
  if (reason.find_first_not_of(" \t\r\n") == std::string_view::npos) {
    return fail(reason_error("is missing", "say why, like \"asked by the athlete\""));
  }
  if (reason.size() > kLongestReason) {
    return fail(reason_error("is longer than 150 bytes", "say it in a few words"));
  }
  const std::string words = lower_case(reason), parts = lower_case(name) + " ";
  for (std::size_t at = 0; at < parts.size();) {
    const std::size_t end = parts.find_first_of(" -,.", at);
    const std::string part = parts.substr(at, end - at);
    if (part.size() >= kShortestNamePart && words.find(part) != std::string::npos) {
      return fail(reason_error("names the athlete, and it would stay in the audit trail",
                               "say it without the name"));
    }
    at = end + 1;
  }
  return {};
}

// Copies that were made before a change of the schema hold everything of that day.
void remove_schema_copies(const Practice& practice) {
  constexpr std::string_view kSqlite = "sqlite:";
  const std::string& url = practice.settings.database_url;
  const fs::path file = url.empty()                ? practice.data / "lintel.db"
                        : url.starts_with(kSqlite) ? fs::path(url.substr(kSqlite.size()))
                                                   : fs::path();
  if (file.empty()) return;
  const std::string start = file.filename().string() + ".schema-";
  std::error_code code;
  std::vector<fs::path> copies;
  for (fs::directory_iterator it(file.parent_path(), code), end; !code && it != end;
       it.increment(code)) {
    const std::string name = it->path().filename().string();
    if (name.starts_with(start) && name.ends_with(".copy")) copies.push_back(it->path());
  }
  for (const fs::path& copy : copies) fs::remove(copy, code);
}

// What an import or a restore that was cut off has left in the data folder.
void remove_left_overs(const Practice& practice) {
  const auto now = fs::file_time_type::clock::now();
  std::vector<fs::path> old;
  std::error_code code;
  for (fs::directory_iterator it(practice.data, code), end; !code && it != end;
       it.increment(code)) {
    const std::string name = it->path().filename().string();
    if (!name.starts_with(".import-") && !name.starts_with(".restore-")) continue;
    std::error_code ignored;
    const auto written = fs::last_write_time(it->path(), ignored);
    if (!ignored && now - written > std::chrono::seconds(kGarbageAge)) old.push_back(it->path());
  }
  for (const fs::path& path : old) fs::remove_all(path, code);
}

std::vector<std::string> what_stays(const Practice& practice) {
  std::vector<std::string> kept = {
      "Rows of the audit trail stay: they say who did what and when, with ids only, no name."};
  const auto backups = list_backups(backup_folder(practice));
  const std::string count =
      backups && !backups->empty()
          ? std::to_string(backups->size()) + " backups in the backup folder were made before, "
          : std::string("Backups that were made before are ");
  kept.push_back(count +
                 "encrypted, and hold the data until their retention ends or they are deleted; "
                 "after restoring one, erase again.");
  kept.push_back("Exports, printed pages and files that were handed on are out of reach.");
  if (practice.database->engine() == store::Engine::Postgresql) {
    kept.push_back(
        "The database server may keep overwritten rows in its own logs and copies; ask "
        "whoever runs it.");
  }
  return kept;
}

struct Gone {
  store::Erased erased;
  std::vector<store::StoredMedia> files;
};

Result<Gone> take_out(Practice& practice, const Caller& caller, std::string_view athlete,
                      std::string_view reason) {
  Gone gone;
  const auto write = [&](store::Transaction& t) -> Result<void> {
    const store::Record record =
        LINTEL_TRY(find_for(t, caller, Permission::Erase, athlete, store::RecordKind::Athlete));
    const store::IndexRows columns = LINTEL_TRY(store::columns_of_record(t, record.id));
    LINTEL_TRY_VOID(check_reason(reason, columns.athlete ? columns.athlete->name : ""));
    gone.erased = LINTEL_TRY(store::erase_athlete(t, record.organization, record.id));
    LINTEL_TRY_VOID(store::forget_once_of(t, record.organization));
    return note_change(t, practice, caller, {"athlete_erased", record.id, record.id, reason});
  };
  LINTEL_TRY_VOID(practice.database->write(write));
  // The rows are gone for good: what follows may be done again, by hand too.
  gone.files = LINTEL_TRY(practice.media->remove_older(gone.erased.orphaned_media, 0));
  LINTEL_TRY_VOID(sweep_uploads(practice));
  LINTEL_TRY(collect_media_garbage(practice));  // archives that were taken in, for example
  LINTEL_TRY_VOID(practice.database->forget_deleted());
  std::error_code ignored;
  fs::remove_all(practice.data / "exports", ignored);
  remove_schema_copies(practice);
  return gone;
}

}  // namespace

Result<view::ErasureSummary> erase_athlete(Practice& practice, const Caller& caller,
                                           std::string_view athlete, std::string_view reason) {
  LINTEL_TRY_VOID(require(caller, Permission::Erase));
  const Gone gone = LINTEL_TRY(take_out(practice, caller, athlete, reason));
  view::ErasureSummary summary;
  summary.athlete = athlete;
  summary.erased_at = practice.now();
  for (const auto& [kind, count] : gone.erased.records) {
    if (kind == "account") summary.account = true;
    summary.records.emplace_back(kind, count);
  }
  summary.uploads = static_cast<std::int64_t>(gone.erased.uploads.size());
  for (const store::StoredMedia& file : gone.files) {
    ++summary.media_files;
    summary.media_bytes += file.bytes;
  }
  summary.kept = what_stays(practice);
  return summary;
}

Result<Collected> collect_media_garbage(Practice& practice) {
  const auto referenced = LINTEL_TRY(store::read_value<std::vector<std::string>>(
      *practice.database, [](store::Transaction& t) { return store::referenced_media(t); }));
  remove_left_overs(practice);
  Collected out;
  for (const store::StoredMedia& file :
       LINTEL_TRY(practice.media->collect_garbage(referenced, kGarbageAge))) {
    ++out.files;
    out.bytes += file.bytes;
  }
  return out;
}

Result<CheckSummary> check_everything(Practice& practice, const WorkContext& work) {
  LINTEL_TRY_VOID(practice.database->check_integrity());
  std::vector<std::string> referenced;
  const auto look = [&](store::Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(store::check_records(t));
    referenced = LINTEL_TRY(store::referenced_media(t));
    return {};
  };
  LINTEL_TRY_VOID(practice.database->read(look));
  CheckSummary out;
  for (const std::string& digest : referenced) {
    if (work.cancelled()) return fail(cancelled_error());
    const auto path = practice.media->find(digest);
    std::error_code ignored;
    if (path) {
      ++out.media_files;
      out.media_bytes += static_cast<std::int64_t>(fs::file_size(*path, ignored));
    } else {
      (path.error().code == ErrorCode::NotFound ? out.missing_media : out.damaged_media)
          .push_back(digest);
    }
    work.report("check the clips and pictures", static_cast<double>(out.media_files),
                static_cast<double>(referenced.size()));
  }
  return out;
}

}  // namespace lintel::app
