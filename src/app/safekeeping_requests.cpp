#include "app/safekeeping_requests.h"

#include <algorithm>
#include <chrono>
#include <fstream>
#include <system_error>

#include "app/athlete_choice.h"
#include "app/backup.h"
#include "app/erase.h"
#include "app/export_athlete.h"
#include "app/safekeeping_text.h"
#include "app/uploads.h"
#include "secure/random.h"
#include "store/records.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr auto kKept = std::chrono::hours(1);  // an archive that was made to be sent

// Those of an hour ago have been sent, or will be asked for again.
void remove_old_archives(const fs::path& folder) {
  std::error_code code;
  const auto now = fs::file_time_type::clock::now();
  for (fs::directory_iterator it(folder, code), end; !code && it != end; it.increment(code)) {
    std::error_code ignored;
    const auto written = fs::last_write_time(it->path(), ignored);
    if (!ignored && now - written > kKept) fs::remove(it->path(), ignored);
  }
}

// Bytes of a request as a file, gone in the end.
class ReceivedFile {
 public:
  ReceivedFile(const Practice& practice, std::string_view bytes)
      : path_(practice.data / (".import-" + secure::random_token(12) + ".zip")) {
    std::ofstream out(path_, std::ios::binary);
    out.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    out.close();
    written_ = out.good();
  }
  ReceivedFile(const ReceivedFile&) = delete;
  ReceivedFile& operator=(const ReceivedFile&) = delete;
  ~ReceivedFile() {
    std::error_code ignored;
    fs::remove(path_, ignored);
  }
  bool written() const { return written_; }
  const fs::path& path() const { return path_; }

 private:
  fs::path path_;
  bool written_ = false;
};

Result<ImportAnswer> import_from(Practice& practice, const Caller& caller, const fs::path& file,
                                 const WorkContext& work) {
  const view::ImportSummary summary = LINTEL_TRY(import_athlete(practice, caller, file, work));
  return ImportAnswer{summary.athlete, printed(summary).json};
}

}  // namespace

Result<ArchiveToSend> export_to_send(Practice& practice, const Caller& caller,
                                     std::string_view athlete, const WorkContext& work) {
  LINTEL_TRY_VOID(require(caller, Permission::TakeOut));
  const fs::path folder = practice.data / "exports";
  std::error_code code;
  fs::create_directories(folder, code);
  remove_old_archives(folder);
  ArchiveToSend out;
  out.path = folder / (secure::random_token(16) + ".zip");
  LINTEL_TRY(export_athlete(practice, caller, athlete, out.path, work));
  const auto chosen = choose_athlete(practice, caller, athlete);
  out.name = file_name_of(chosen ? chosen->name : "") + "-" + practice.today() + ".zip";
  return out;
}

Result<ImportAnswer> import_bytes(Practice& practice, const Caller& caller, std::string_view bytes,
                                  const WorkContext& work) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const ReceivedFile file(practice, bytes);
  if (!file.written()) {
    return fail(ErrorCode::Io, "the archive cannot be written", "check free space");
  }
  return import_from(practice, caller, file.path(), work);
}

Result<ImportAnswer> import_upload(Practice& practice, const Caller& caller,
                                   std::string_view upload, const WorkContext& work) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const UploadState state = LINTEL_TRY(find_upload(practice, caller, upload));
  if (!state.complete()) {
    return fail(ErrorCode::Conflict, "the upload is not complete", "send the rest of it first");
  }
  const fs::path file = LINTEL_TRY(practice.media->find(state.sha256));
  ImportAnswer answer = LINTEL_TRY(import_from(practice, caller, file, work));
  LINTEL_TRY_VOID(drop_upload(practice, caller, upload));
  const auto referenced = LINTEL_TRY(store::read_value<std::vector<std::string>>(
      *practice.database, [](store::Transaction& t) { return store::referenced_media(t); }));
  if (!std::binary_search(referenced.begin(), referenced.end(), state.sha256)) {
    LINTEL_TRY(practice.media->remove_older({state.sha256}, 0));
  }
  return answer;
}

Result<std::string> backup_on_request(Practice& practice, const Caller& caller,
                                      std::string_view passphrase, const WorkContext& work) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  const std::string& file = practice.settings.backup.passphrase_file;
  if (passphrase.empty() && file.empty()) {
    Error error{ErrorCode::Invalid,
                "is missing",
                {},
                "give a passphrase, or name a file with one in lintel.toml",
                {}};
    error.place.field = "passphrase";
    return fail(std::move(error));
  }
  const secure::Passphrase words = passphrase.empty()
                                       ? LINTEL_TRY(secure::read_passphrase_file(file))
                                       : secure::Passphrase(passphrase);
  const fs::path folder = backup_folder(practice);
  std::error_code code;
  fs::create_directories(folder, code);
  view::BackupSummary summary =
      LINTEL_TRY(make_backup(practice, folder / backup_name(practice.now()), words, work));
  LINTEL_TRY_VOID(note_backup(practice, caller, "backup_made"));
  summary.file = fs::path(summary.file).filename().string();  // where it lies is the machine's
  return printed(summary, BackupAct::Made).json;
}

Result<std::string> backups_there(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::Administer));
  return printed(LINTEL_TRY(list_backups(backup_folder(practice)))).json;
}

Result<std::string> erase_on_request(Practice& practice, const Caller& caller,
                                     std::string_view athlete, std::string_view reason) {
  return printed(LINTEL_TRY(erase_athlete(practice, caller, athlete, reason))).json;
}

}  // namespace lintel::app
