#include <algorithm>
#include <cerrno>
#include <fstream>
#include <optional>
#include <utility>

#include "app/backup.h"
#include "app/backup_reader.h"
#include "secure/random.h"
#include "store/records.h"
#include "store/whole.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

// Media on their way into the media folder. Takes back what it added unless told to keep it.
class MediaTaker {
 public:
  explicit MediaTaker(Practice& practice) : practice_(practice) {}
  MediaTaker(const MediaTaker&) = delete;
  MediaTaker& operator=(const MediaTaker&) = delete;
  ~MediaTaker() {
    std::error_code ignored;
    out_.close();
    fs::remove(temporary_, ignored);
    if (kept_) return;
    for (const std::string& digest : added_) {
      if (const auto path = practice_.media->path_of(digest)) fs::remove(*path, ignored);
    }
  }
  void keep() { kept_ = true; }

  Result<void> begin(const formats::BackupMedia& file) {
    current_ = file;
    skip_ = practice_.media->find(file.sha256).has_value();
    if (skip_) return {};
    temporary_ = practice_.data / (".restore-" + secure::random_token(12) + ".part");
    out_.open(temporary_, std::ios::binary | std::ios::trunc);
    return check();
  }
  Result<void> data(std::string_view bytes) {
    if (skip_) return {};
    out_.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
    return check();
  }
  Result<void> end() {
    if (skip_) return {};
    out_.close();
    LINTEL_TRY_VOID(check());
    const store::StoredMedia stored = LINTEL_TRY(practice_.media->add_file(temporary_));
    if (stored.sha256 != current_.sha256) {
      return fail(ErrorCode::Io, "a file changed on its way into the media folder",
                  "check the disk");
    }
    added_.push_back(stored.sha256);
    std::error_code ignored;
    fs::remove(temporary_, ignored);
    return {};
  }

 private:
  Result<void> check() const {
    if (out_) return {};
    return fail(ErrorCode::Io, "a file of the backup cannot be written", "check free space");
  }

  Practice& practice_;
  formats::BackupMedia current_;
  std::ofstream out_;
  fs::path temporary_;
  std::vector<std::string> added_;
  bool skip_ = false;
  bool kept_ = false;
};

Result<bool> holds_anything(Practice& practice) {
  return store::read_value<bool>(*practice.database, store::holds_anything);
}

Error not_empty() {
  return Error{ErrorCode::Conflict,
               "this workplace is not empty",
               {},
               "restore into a new folder with --data, or say --replace: then a backup of what is "
               "there is made first",
               {}};
}

// Since this version of the tables later ones only added tables that begin empty: what was in a
// backup of then goes into today's as it is. A migration that changes rows or columns raises it.
constexpr std::int64_t kOldestSchema = 6;

// Does the backup fit the tables of this program?
Result<void> check_shapes(store::Transaction& t, const formats::BackupAbout& about) {
  const std::int64_t own = LINTEL_TRY(store::schema_version(t));
  const std::vector<view::TableShape> tables = LINTEL_TRY(store::whole_tables(t));
  bool fits = about.schema_version >= kOldestSchema && about.schema_version <= own &&
              (about.schema_version < own || about.tables.size() == tables.size());
  for (const view::TableShape& table : about.tables) {
    fits = fits && std::any_of(tables.begin(), tables.end(), [&](const view::TableShape& one) {
             return one.name == table.name && one.columns == table.columns;
           });
  }
  if (fits) return {};
  return fail(ErrorCode::Unsupported,
              "the backup was made by version " + about.program_version + " with version " +
                  std::to_string(about.schema_version) +
                  " of the tables; this program has version " + std::to_string(own),
              about.schema_version > own
                  ? "use the newer program that wrote it"
                  : "restore it with the program that wrote it; this one brings that folder up to "
                    "date when it opens it");
}

Result<void> fill(Practice& practice, const secure::StreamFileReader& file, RestoreInto into,
                  const WorkContext& work) {
  return practice.database->write([&](store::Transaction& t) -> Result<void> {
    // Somebody may have come in since the first look.
    if (into == RestoreInto::Empty && LINTEL_TRY(store::holds_anything(t))) {
      return fail(not_empty());
    }
    std::optional<store::Filling> filling;
    std::string digest;
    BackupVisitor visitor;
    visitor.about = [&](const formats::BackupAbout& about) -> Result<void> {
      LINTEL_TRY_VOID(check_shapes(t, about));
      filling.emplace(LINTEL_TRY(store::Filling::begin(t)));
      return {};
    };
    visitor.row = [&](const view::TableShape& table, const view::TableRow& row) {
      return filling->add(table, row);
    };
    visitor.manifest = [&](const formats::BackupManifest& manifest) -> Result<void> {
      digest = manifest.digest;
      return {};
    };
    visitor.stop_after_tables = true;
    LINTEL_TRY(walk_backup(file, visitor, work));
    LINTEL_TRY_VOID(filling->finish());
    if (LINTEL_TRY(store::digest_of_everything(t)) == digest) return {};
    return fail(ErrorCode::Internal,
                "what was restored is not what was backed up; nothing was changed",
                "report this fault and keep the backup");
  });
}

}  // namespace

Result<view::RestoreSummary> restore_backup(Practice& practice, const fs::path& file,
                                            const secure::Passphrase& passphrase, RestoreInto into,
                                            const WorkContext& work,
                                            const secure::StreamFileOptions& sealing) {
  view::RestoreSummary summary;
  // All of it is read once before anything is touched.
  BackupVisitor look;
  look.about = [&](const formats::BackupAbout& about) {
    return practice.database->read([&](store::Transaction& t) { return check_shapes(t, about); });
  };
  const secure::StreamFileReader sealed =
      LINTEL_TRY(secure::StreamFileReader::open(file, passphrase));
  summary.backup = LINTEL_TRY(walk_backup(sealed, look, work));

  if (LINTEL_TRY(holds_anything(practice))) {
    if (into == RestoreInto::Empty) return fail(not_empty());
    const fs::path folder = practice.data / "backups";
    std::error_code code;
    fs::create_directories(folder, code);
    const fs::path old = folder / ("before-restore-" + backup_name(practice.now()).substr(7));
    LINTEL_TRY(make_backup(practice, old, passphrase, work, sealing));
    summary.old_kept_in = old.string();
  }

  MediaTaker taker(practice);
  BackupVisitor media;
  media.media_begin = [&](const formats::BackupMedia& entry) { return taker.begin(entry); };
  media.media_data = [&](std::string_view bytes) { return taker.data(bytes); };
  media.media_end = [&] { return taker.end(); };
  LINTEL_TRY(walk_backup(sealed, media, work));
  LINTEL_TRY_VOID(fill(practice, sealed, into, work));
  taker.keep();
  return summary;
}

}  // namespace lintel::app
