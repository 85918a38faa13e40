#include "app/backup_reader.h"

#include <algorithm>
#include <filesystem>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "formats/tar_stream.h"
#include "secure/sha256.h"

namespace lintel::app {
namespace {

constexpr std::int64_t kLargestPart = std::int64_t{256} << 20;  // that is held in memory [bytes]

Error order_error(const std::string& what) {
  return Error{ErrorCode::Invalid,
               "the backup is not well-formed: " + what,
               {},
               "take another copy of this backup",
               {}};
}

// In the order of the parts.
enum class Stage : std::uint8_t { Start, Tables, Media, End };

class Walk {
 public:
  explicit Walk(const BackupVisitor& visitor) : visitor_(visitor) {}

  formats::TarHandlers handlers() {
    return {[this](const formats::TarEntry& entry) { return begin(entry); },
            [this](std::string_view bytes) { return data(bytes); }, [this] { return end(); }};
  }
  bool stopped() const { return stopped_; }
  bool complete() const { return stage_ == Stage::End; }
  view::BackupSummary& summary() { return summary_; }

 private:
  Result<void> begin(const formats::TarEntry& entry) {
    entry_ = entry;
    held_.clear();
    if (entry.name.starts_with(kMediaPart)) return begin_media();
    if (entry.bytes > kLargestPart) return fail(order_error("a part is too large"));
    return {};
  }

  Result<void> data(std::string_view bytes) {
    if (!media_) {
      held_ += bytes;
      return {};
    }
    media_digest_.add(bytes);
    return visitor_.media_data ? visitor_.media_data(bytes) : Result<void>{};
  }

  Result<void> end() {
    if (media_) return end_media();
    if (entry_.name == kAboutPart) return take_about();
    if (entry_.name.starts_with(kTablesPart)) return take_rows();
    if (entry_.name == kManifestPart) return take_manifest();
    if (entry_.name == kEndPart) return take_end();
    return fail(order_error("an unknown part"));
  }

  Result<void> take_about() {
    if (stage_ != Stage::Start) return fail(order_error("parts out of order"));
    about_ = LINTEL_TRY(formats::read_backup_about(held_));
    summary_.made_at = about_.made_at;
    summary_.program_version = about_.program_version;
    summary_.engine = about_.engine;
    summary_.schema_version = about_.schema_version;
    stage_ = Stage::Tables;
    return visitor_.about ? visitor_.about(about_) : Result<void>{};
  }

  // A part of a table: whole lines. Tables come in the order of about.json.
  Result<void> take_rows() {
    if (stage_ != Stage::Tables) return fail(order_error("parts out of order"));
    const std::string_view rest = std::string_view(entry_.name).substr(kTablesPart.size());
    const std::string_view name = rest.substr(0, rest.find('/'));
    while (table_ < about_.tables.size() && about_.tables[table_].name != name) {
      LINTEL_TRY_VOID(close_table());
    }
    if (table_ == about_.tables.size()) return fail(order_error("a table out of order"));
    const view::TableShape& shape = about_.tables[table_];
    table_digest_.add(held_);
    std::string_view lines = held_;
    while (!lines.empty()) {
      const std::size_t end = lines.find('\n');
      if (end == std::string_view::npos) return fail(order_error("a row without its end"));
      const view::TableRow row = LINTEL_TRY(formats::read_table_row(lines.substr(0, end), shape));
      ++rows_;
      if (visitor_.row) LINTEL_TRY_VOID(visitor_.row(shape, row));
      lines.remove_prefix(end + 1);
    }
    return {};
  }

  Result<void> close_table() {
    tables_.push_back({about_.tables[table_].name, rows_, table_digest_.hex()});
    table_digest_ = secure::Sha256();
    rows_ = 0;
    ++table_;
    return {};
  }

  Result<void> take_manifest() {
    if (stage_ != Stage::Tables) return fail(order_error("parts out of order"));
    while (table_ < about_.tables.size()) LINTEL_TRY_VOID(close_table());
    const formats::BackupManifest manifest = LINTEL_TRY(formats::read_backup_manifest(held_));
    if (manifest.tables != tables_) return fail(order_error("tables are not what they were"));
    summary_.digest = manifest.digest;
    for (const formats::BackupTable& table : tables_) {
      summary_.tables.emplace_back(table.name, table.rows);
    }
    for (const formats::BackupMedia& file : manifest.media) expected_.insert(file.sha256);
    stage_ = Stage::Media;
    if (visitor_.manifest) LINTEL_TRY_VOID(visitor_.manifest(manifest));
    if (!visitor_.stop_after_tables) return {};
    stopped_ = true;
    return fail(cancelled_error());
  }

  Result<void> begin_media() {
    if (stage_ != Stage::Media) return fail(order_error("parts out of order"));
    const std::string digest = entry_.name.substr(kMediaPart.size());
    if (expected_.erase(digest) == 0) return fail(order_error("a file that nothing refers to"));
    media_ = formats::BackupMedia{digest, entry_.bytes};
    media_digest_ = secure::Sha256();
    ++summary_.media_files;
    summary_.media_bytes += entry_.bytes;
    return visitor_.media_begin ? visitor_.media_begin(*media_) : Result<void>{};
  }

  Result<void> end_media() {
    const std::string digest = media_->sha256;
    media_.reset();
    if (media_digest_.hex() != digest) return fail(order_error("a file is not what it was"));
    return visitor_.media_end ? visitor_.media_end() : Result<void>{};
  }

  Result<void> take_end() {
    if (stage_ != Stage::Media) return fail(order_error("parts out of order"));
    summary_.missing_media = LINTEL_TRY(formats::read_backup_end(held_));
    for (const std::string& missing : summary_.missing_media) expected_.erase(missing);
    if (!expected_.empty()) return fail(order_error("a file is missing"));
    stage_ = Stage::End;
    return {};
  }

  const BackupVisitor& visitor_;
  Stage stage_ = Stage::Start;
  formats::TarEntry entry_;
  std::string held_;
  formats::BackupAbout about_;
  std::size_t table_ = 0;  // being read
  std::int64_t rows_ = 0;
  secure::Sha256 table_digest_, media_digest_;
  std::vector<formats::BackupTable> tables_;
  std::set<std::string> expected_;
  std::optional<formats::BackupMedia> media_;
  view::BackupSummary summary_;
  bool stopped_ = false;
};

}  // namespace

Result<view::BackupSummary> walk_backup(const secure::StreamFileReader& file,
                                        const BackupVisitor& visitor, const WorkContext& work) {
  Walk walk(visitor);
  formats::TarParser parser(walk.handlers());
  const auto read = file.read([&](std::string_view bytes) { return parser.feed(bytes); }, work);
  const auto in_file = [&](Error error) { return fail(error.with_file(file.file().string())); };
  if (!read && !walk.stopped()) return in_file(read.error());
  if (!walk.stopped()) {
    if (const Result<void> whole = parser.finish(); !whole) return in_file(whole.error());
    if (!walk.complete()) return in_file(order_error("its last part is missing"));
  }
  walk.summary().file = file.file().string();
  std::error_code ignored;
  walk.summary().bytes =
      static_cast<std::int64_t>(std::filesystem::file_size(file.file(), ignored));
  return std::move(walk.summary());
}

}  // namespace lintel::app
