#include "app/backup.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <fstream>
#include <optional>
#include <utility>

#include "app/audit.h"
#include "app/backup_reader.h"
#include "app/version.h"
#include "base/date.h"
#include "formats/backup_json.h"
#include "formats/tar_stream.h"
#include "secure/sha256.h"
#include "store/accounts.h"
#include "store/records.h"
#include "store/whole.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kPartBytes = std::size_t{4} << 20;  // of one part of a table

std::int64_t unix_time(const std::string& iso) {
  const auto day = Date::parse(iso.substr(0, 10));
  int hour = 0, minute = 0, second = 0;
  if (!day || std::sscanf(iso.c_str() + 10, "T%2d:%2d:%2d", &hour, &minute, &second) != 3) return 0;
  return std::int64_t{day->days()} * 86400 + hour * 3600 + minute * 60 + second;
}

// Puts parts into the encrypted stream.
class PartWriter {
 public:
  PartWriter(secure::StreamFileWriter& out, std::int64_t time) : out_(out), time_(time) {}

  Result<void> put(std::string_view name, std::string_view bytes) {
    LINTEL_TRY_VOID(begin(name, static_cast<std::int64_t>(bytes.size())));
    LINTEL_TRY_VOID(out_.write(bytes));
    return out_.write(formats::tar_padding(static_cast<std::int64_t>(bytes.size())));
  }

  // A file of this many bytes; it must not change meanwhile.
  Result<void> put_file(std::string_view name, const fs::path& file, std::int64_t bytes,
                        const WorkContext& work) {
    LINTEL_TRY_VOID(begin(name, bytes));
    std::ifstream in(file, std::ios::binary);
    std::array<char, 1 << 16> piece;
    std::int64_t left = bytes;
    while (left > 0) {
      if (work.cancelled()) return fail(cancelled_error());
      const auto wanted = static_cast<std::streamsize>(std::min<std::int64_t>(left, piece.size()));
      in.read(piece.data(), wanted);
      if (in.gcount() != wanted) {
        return fail(ErrorCode::Io, "a file of the media folder cannot be read to its end",
                    "check the disk, then make the backup again");
      }
      LINTEL_TRY_VOID(out_.write(std::string_view(piece.data(), static_cast<std::size_t>(wanted))));
      left -= wanted;
    }
    return out_.write(formats::tar_padding(bytes));
  }

  Result<void> end() { return out_.write(formats::tar_end()); }

 private:
  Result<void> begin(std::string_view name, std::int64_t bytes) {
    return out_.write(LINTEL_TRY(formats::tar_header({std::string(name), bytes}, time_)));
  }

  secure::StreamFileWriter& out_;
  std::int64_t time_;
};

Result<formats::BackupTable> write_table(store::Transaction& t, const view::TableShape& table,
                                         PartWriter& parts, const WorkContext& work) {
  formats::BackupTable written{table.name, 0, {}};
  secure::Sha256 digest;
  std::string lines;
  int number = 0;
  const auto flush = [&]() -> Result<void> {
    if (lines.empty()) return {};
    char file[32];
    std::snprintf(file, sizeof file, "/%06d.jsonl", ++number);
    LINTEL_TRY_VOID(parts.put(std::string(kTablesPart) + table.name + file, lines));
    digest.add(lines);
    lines.clear();
    return {};
  };
  LINTEL_TRY_VOID(store::dump_table(t, table, [&](const view::TableRow& row) -> Result<void> {
    if (work.cancelled()) return fail(cancelled_error());
    lines += formats::write_table_row(row);
    ++written.rows;
    return lines.size() >= kPartBytes ? flush() : Result<void>{};
  }));
  LINTEL_TRY_VOID(flush());
  written.sha256 = digest.hex();
  return written;
}

// All rows as of one moment; answers which media they refer to.
Result<formats::BackupManifest> write_tables(store::Transaction& t, const Practice& practice,
                                             PartWriter& parts, view::BackupSummary& summary,
                                             const WorkContext& work) {
  formats::BackupAbout about;
  about.made_at = summary.made_at;
  about.program_version = summary.program_version = version();
  about.engine = summary.engine =
      practice.database->engine() == store::Engine::Sqlite ? "sqlite" : "postgresql";
  about.schema_version = summary.schema_version = LINTEL_TRY(store::schema_version(t));
  about.tables = LINTEL_TRY(store::whole_tables(t));
  LINTEL_TRY_VOID(parts.put(kAboutPart, formats::write_backup_about(about)));

  formats::BackupManifest manifest;
  manifest.digest = summary.digest = LINTEL_TRY(store::digest_of_everything(t));
  for (const view::TableShape& table : about.tables) {
    work.report("read the records", static_cast<double>(manifest.tables.size()),
                static_cast<double>(about.tables.size()));
    manifest.tables.push_back(LINTEL_TRY(write_table(t, table, parts, work)));
    summary.tables.emplace_back(table.name, manifest.tables.back().rows);
  }
  for (const std::string& digest : LINTEL_TRY(store::referenced_media(t))) {
    manifest.media.push_back({digest, 0});
  }
  return manifest;
}

Result<void> write_media(const Practice& practice, const formats::BackupManifest& manifest,
                         PartWriter& parts, view::BackupSummary& summary, const WorkContext& work) {
  for (const formats::BackupMedia& file : manifest.media) {
    if (work.cancelled()) return fail(cancelled_error());
    const auto path = practice.media->find(file.sha256);
    std::error_code code;
    const std::uintmax_t bytes = path ? fs::file_size(*path, code) : 0;
    if (!path || code) {
      summary.missing_media.push_back(file.sha256);
      continue;
    }
    const auto size = static_cast<std::int64_t>(bytes);
    LINTEL_TRY_VOID(parts.put_file(std::string(kMediaPart) + file.sha256, *path, size, work));
    ++summary.media_files;
    summary.media_bytes += size;
    work.report("copy the clips and pictures", static_cast<double>(summary.media_files),
                static_cast<double>(manifest.media.size()));
  }
  return parts.put(kEndPart, formats::write_backup_end(summary.missing_media));
}

}  // namespace

std::string backup_name(std::string_view now) {
  std::string compact;
  for (const char letter : now.substr(0, 19)) {
    if (letter != '-' && letter != ':') compact += letter;
  }
  return "lintel-" + compact + "Z" + kBackupEnding;
}

Result<view::BackupSummary> make_backup(Practice& practice, const fs::path& target,
                                        const secure::Passphrase& passphrase,
                                        const WorkContext& work,
                                        const secure::StreamFileOptions& sealing) {
  view::BackupSummary summary;
  summary.file = target.string();
  summary.made_at = practice.now();
  std::optional<formats::BackupManifest> manifest;
  std::optional<secure::StreamFileWriter> out;
  std::optional<PartWriter> parts;
  const auto write_rows = [&](store::Transaction& t) -> Result<void> {
    // The body may be run again: the file begins anew, too.
    parts.reset();
    out.reset();
    summary.tables.clear();
    out.emplace(LINTEL_TRY(secure::StreamFileWriter::create(target, passphrase, sealing)));
    parts.emplace(*out, unix_time(summary.made_at));
    manifest = LINTEL_TRY(write_tables(t, practice, *parts, summary, work));
    return {};
  };
  LINTEL_TRY_VOID(practice.database->read(write_rows));
  LINTEL_TRY_VOID(parts->put(kManifestPart, formats::write_backup_manifest(*manifest)));
  LINTEL_TRY_VOID(write_media(practice, *manifest, *parts, summary, work));
  LINTEL_TRY_VOID(parts->end());
  LINTEL_TRY_VOID(out->commit());
  std::error_code ignored;
  summary.bytes = static_cast<std::int64_t>(fs::file_size(target, ignored));
  return summary;
}

Result<view::BackupSummary> check_backup(const fs::path& file, const secure::Passphrase& passphrase,
                                         const WorkContext& work) {
  return walk_backup(LINTEL_TRY(secure::StreamFileReader::open(file, passphrase)), {}, work);
}

Result<void> note_backup(Practice& practice, const Caller& caller, std::string_view action) {
  const auto note = [&](store::Transaction& t) -> Result<void> {
    for (const std::string& organization : LINTEL_TRY(store::list_organizations(t))) {
      Caller one = caller;
      one.organization = organization;
      LINTEL_TRY_VOID(note_change(t, practice, one, {action}));
    }
    return {};
  };
  return practice.database->write(note);
}

fs::path backup_folder(const Practice& practice) {
  const std::string& folder = practice.settings.backup.folder;
  return folder.empty() ? practice.data / "backups" : fs::path(folder);
}

Result<std::vector<view::BackupFile>> list_backups(const fs::path& folder) {
  std::vector<view::BackupFile> out;
  std::error_code code;
  if (!fs::exists(folder, code)) return out;
  for (fs::directory_iterator it(folder, code), end; !code && it != end; it.increment(code)) {
    const std::string name = it->path().filename().string();
    std::array<int, 6> at{};
    int length = 0;
    if (std::sscanf(name.c_str(), "lintel-%4d%2d%2dT%2d%2d%2dZ.lintel-backup%n", &at[0], &at[1],
                    &at[2], &at[3], &at[4], &at[5], &length) != 6 ||
        static_cast<std::size_t>(length) != name.size()) {
      continue;
    }
    char time[32];
    std::snprintf(time, sizeof time, "%04d-%02d-%02dT%02d:%02d:%02dZ", at[0], at[1], at[2], at[3],
                  at[4], at[5]);
    std::error_code ignored;
    out.push_back({name, time, static_cast<std::int64_t>(fs::file_size(it->path(), ignored))});
  }
  if (code) {
    Error error{ErrorCode::Io, "the folder cannot be read: " + code.message(), {}, "", {}};
    return fail(std::move(error.with_file(folder.string())));
  }
  std::sort(out.begin(), out.end(),
            [](const auto& a, const auto& b) { return a.made_at > b.made_at; });
  return out;
}

}  // namespace lintel::app
