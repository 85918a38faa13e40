#include <algorithm>
#include <functional>
#include <map>
#include <set>
#include <utility>

#include "app/audit.h"
#include "app/export_athlete.h"
#include "app/library_exchange.h"
#include "app/text_file.h"
#include "formats/account_json.h"
#include "formats/export_json.h"
#include "formats/intake_json.h"
#include "formats/trial_json.h"
#include "formats/visit_json.h"
#include "formats/zip_reader.h"
#include "secure/random.h"
#include "secure/sha256.h"
#include "store/accounts.h"
#include "store/record_columns.h"
#include "store/records.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr std::int64_t kLargestManifest = std::int64_t{32} << 20;    // [bytes]
constexpr std::int64_t kLargestDocument = std::int64_t{32} << 20;    // [bytes]
constexpr std::int64_t kLargestOfLibrary = std::int64_t{256} << 10;  // [bytes], as their readers

Error entry_error(ErrorCode code, std::string_view entry, std::string message, std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = entry;
  return error;
}

Error entry_fault(std::string_view entry, std::string message) {
  return entry_error(ErrorCode::Invalid, entry, std::move(message),
                     "nothing was taken in; ask for a new export");
}

// A folder for what is unpacked, gone in the end.
class UnpackFolder {
 public:
  static Result<UnpackFolder> create(const fs::path& data) {
    UnpackFolder folder;
    folder.path_ = data / (".import-" + secure::random_token(12));
    std::error_code code;
    fs::create_directory(folder.path_, code);
    if (code) return fail(ErrorCode::Io, "there is no place to unpack: " + code.message());
    return folder;
  }
  UnpackFolder(UnpackFolder&& other) noexcept : path_(std::exchange(other.path_, {})) {}
  UnpackFolder& operator=(UnpackFolder&&) = delete;
  ~UnpackFolder() {
    std::error_code ignored;
    if (!path_.empty()) fs::remove_all(path_, ignored);
  }
  const fs::path& path() const { return path_; }

 private:
  UnpackFolder() = default;
  fs::path path_;
};

// What comes in, checked.
struct Incoming {
  view::ExportManifest manifest;
  std::map<std::string, std::string> documents;        // by name in the archive
  std::map<std::string, view::ExportMedia> media;      // by name in the archive
  std::map<std::string, std::set<std::string>> named;  // digests in documents, by entry
  IncomingLibrary library;
};

std::string sha256_of(std::string_view text) {
  secure::Sha256 digest;
  digest.add(text);
  return digest.hex();
}

// Does the newest version read as what it says it is?
Result<void> check_meaning(const std::string& kind, const std::string& entry,
                           const std::string& text) {
  std::vector<Error> faults;
  if (kind == "athlete") faults = formats::read_intake_json(text, entry).faults;
  if (kind == "visit") faults = formats::read_visit_json(text, entry).faults;
  if (kind == "trial") faults = formats::read_trial_json(text, entry).faults;
  if (faults.empty()) return {};
  return fail(joined_faults(faults));
}

// The document of an entry, as the manifest means it.
Result<std::string> read_document(const formats::ZipReader& zip, const std::string& name,
                                  const std::string& sha256, std::int64_t most) {
  const formats::ZipEntry* entry = zip.find(name);
  if (entry == nullptr) return fail(entry_fault(name, "this document is missing"));
  std::string text = LINTEL_TRY(zip.read_text(*entry, most));
  if (sha256_of(text) == sha256) return text;
  return fail(
      entry_fault(name, "this document is not the one that the manifest means: another SHA-256"));
}

Result<void> read_documents(const formats::ZipReader& zip, Incoming& in) {
  for (const view::ExportRecord& record : in.manifest.records) {
    for (const view::ExportVersion& version : record.versions) {
      const std::string name =
          formats::export_document_name(record.kind, record.id, version.version);
      std::string text = LINTEL_TRY(read_document(zip, name, version.sha256, kLargestDocument));
      for (std::string& digest : LINTEL_TRY(formats::digests_in_document(text, name))) {
        in.named[name].insert(std::move(digest));
      }
      if (version.version == record.versions.back().version) {
        LINTEL_TRY_VOID(check_meaning(record.kind, name, text));
      }
      in.documents.emplace(name, std::move(text));
    }
  }
  return {};
}

Result<void> read_library(const formats::ZipReader& zip, Incoming& in) {
  in.library.entries = in.manifest.library;
  for (const view::ExportLibraryEntry& entry : in.manifest.library) {
    const std::string name = formats::export_library_name(entry.kind, entry.name);
    in.library.documents.emplace(
        name, LINTEL_TRY(read_document(zip, name, entry.sha256, kLargestOfLibrary)));
  }
  for (const view::ExportRecord& record : in.manifest.records) {
    const std::string name =
        formats::export_document_name(record.kind, record.id, record.versions.back().version);
    if (record.kind == "tests") in.library.tests.emplace_back(name, in.documents.at(name));
    if (record.kind == "session_log") in.library.days.emplace_back(name, in.documents.at(name));
  }
  return {};
}

Result<void> check_media_list(const formats::ZipReader& zip, Incoming& in) {
  const std::set<std::string> missing(in.manifest.missing_media.begin(),
                                      in.manifest.missing_media.end());
  for (const view::ExportRecord& record : in.manifest.records) {
    for (const view::ExportMedia& media : record.media) {
      if (missing.count(media.sha256) > 0) continue;
      const std::string name = formats::export_media_name(media.sha256, media.media_type);
      const formats::ZipEntry* entry = zip.find(name);
      if (entry == nullptr) return fail(entry_fault(name, "this file is missing"));
      if (entry->bytes != media.bytes) {
        return fail(entry_fault(name, "this file has another size than the manifest says"));
      }
      in.media.emplace(name, media);
    }
  }
  for (const formats::ZipEntry& entry : zip.entries()) {
    const bool known = entry.name == formats::kExportManifest ||
                       entry.name == formats::kExportReadme || in.documents.count(entry.name) > 0 ||
                       in.library.documents.count(entry.name) > 0 || in.media.count(entry.name) > 0;
    if (!known) return fail(entry_fault(entry.name, "the manifest does not name this file"));
  }
  return {};
}

// A document may only point at files that come with it: else it would open somebody else's.
Result<void> check_named_media(const Practice& practice, const Incoming& in) {
  std::set<std::string> brought;
  for (const auto& [name, media] : in.media) brought.insert(media.sha256);
  for (const auto& [name, digests] : in.named) {
    for (const std::string& digest : digests) {
      if (brought.count(digest) == 0 && practice.media->path_of(digest)) {
        return fail(entry_fault(name, "this document names a file that it does not bring"));
      }
    }
  }
  return {};
}

Result<Incoming> read_archive(const formats::ZipReader& zip, const Practice& practice) {
  const formats::ZipEntry* entry = zip.find(formats::kExportManifest);
  if (entry == nullptr) {
    return fail(entry_error(ErrorCode::Invalid, formats::kExportManifest,
                            "this is not an export of an athlete: it has no manifest.json",
                            "give a file that `lintel records export` wrote"));
  }
  const std::string text = LINTEL_TRY(zip.read_text(*entry, kLargestManifest));
  formats::ExportReading reading =
      formats::read_export_manifest(text, std::string(formats::kExportManifest));
  if (!reading.manifest) return fail(joined_faults(reading.faults));
  Incoming in;
  in.manifest = *std::move(reading.manifest);
  LINTEL_TRY_VOID(read_documents(zip, in));
  LINTEL_TRY_VOID(read_library(zip, in));
  LINTEL_TRY_VOID(check_media_list(zip, in));
  LINTEL_TRY_VOID(check_named_media(practice, in));
  return in;
}

// ---- Into the database

store::IndexRows index_of(const view::ExportColumns& columns) {
  const auto text = [](const view::TableCell& cell) { return std::get<std::string>(cell); };
  const auto real = [](const view::TableCell& cell) { return std::get<double>(cell); };
  const auto whole = [](const view::TableCell& cell) { return std::get<std::int64_t>(cell); };
  store::IndexRows out;
  out.date = columns.date;
  for (const view::TableRow& row : columns.athlete) {
    out.athlete = store::AthleteRow{text(row[0]), text(row[1]), text(row[2]), {}};
    const std::string tags = text(row[3]);
    for (std::size_t at = 0; at < tags.size();) {
      const std::size_t end = std::min(tags.find('\n', at), tags.size());
      if (end > at) out.athlete->tags.push_back(tags.substr(at, end - at));
      at = end + 1;
    }
  }
  for (const view::TableRow& row : columns.tests) {
    out.tests.push_back(
        {text(row[0]), text(row[1]), text(row[2]), text(row[3]), real(row[4]), real(row[5])});
  }
  for (const view::TableRow& row : columns.drills) {
    const bool pain = !std::holds_alternative<std::monostate>(row[4]);
    out.drills.push_back({text(row[0]), text(row[1]), whole(row[2]), real(row[3]),
                          pain ? std::optional(whole(row[4])) : std::nullopt});
  }
  for (const view::TableRow& row : columns.measures) {
    out.measures.push_back({text(row[0]), text(row[1]), text(row[2]), real(row[3]), real(row[4])});
  }
  for (const view::TableRow& row : columns.due) out.due.push_back({text(row[0]), text(row[1])});
  return out;
}

Result<void> check_free(store::Transaction& t, const Incoming& in) {
  for (const view::ExportRecord& record : in.manifest.records) {
    if (!LINTEL_TRY(store::id_is_taken(t, record.id))) continue;
    const bool athlete = record.id == in.manifest.athlete;
    return fail(ErrorCode::Conflict,
                athlete ? "this athlete is in this workplace already"
                        : "a " + record.kind + " of this export is in this workplace already",
                "nothing was taken in; open the athlete that is here, or erase it first");
  }
  return {};
}

// One record as it grew: made, then changed version by version, each by its author at its time.
Result<void> replay(store::Transaction& t, const Caller& caller, const Incoming& in,
                    const view::ExportRecord& record) {
  const store::IndexRows last = index_of(record.columns);
  store::IndexRows before = last;  // columns of older versions are not known: the athlete's name is
  if (!last.athlete) before = {};
  store::NewRecord fresh;
  fresh.kind = *store::record_kind_from(record.kind);
  fresh.organization = caller.organization;
  fresh.athlete = in.manifest.athlete;
  fresh.parent = record.parent;
  fresh.id = record.id;
  std::string state = "active";
  for (const view::ExportVersion& version : record.versions) {
    const std::string& document =
        in.documents.at(formats::export_document_name(record.kind, record.id, version.version));
    const bool newest = version.version == record.versions.back().version;
    const store::IndexRows& index = newest ? last : before;
    const store::Author author{version.changed_by, version.changed_at};
    if (version.version == 1) {
      fresh.document = document;
      fresh.index = index;
      LINTEL_TRY(store::insert_record(t, fresh, {record.created_by, record.created_at}));
    } else if (version.state == state) {
      LINTEL_TRY(store::replace_record(t, record.id, version.version - 1, document, index,
                                       version.reason, author));
    } else {
      const auto to = version.state == "active"     ? store::RecordState::Active
                      : version.state == "archived" ? store::RecordState::Archived
                                                    : store::RecordState::Withdrawn;
      LINTEL_TRY(
          store::set_record_state(t, record.id, version.version - 1, to, version.reason, author));
    }
    state = version.state;
  }
  for (const view::ExportMedia& media : record.media) {
    LINTEL_TRY_VOID(
        store::refer_to_media(t, record.id, media.sha256, media.bytes, media.media_type));
  }
  return {};
}

// A change of state keeps the document; version 1 is active. What is not so was made by hand.
Result<void> check_growth(const view::ExportManifest& manifest) {
  for (const view::ExportRecord& record : manifest.records) {
    const view::ExportVersion* before = nullptr;
    for (const view::ExportVersion& version : record.versions) {
      const std::string name =
          formats::export_document_name(record.kind, record.id, version.version);
      const bool first = before == nullptr;
      if (first && (version.state != "active" || version.changed_at != record.created_at ||
                    version.changed_by != record.created_by)) {
        return fail(entry_fault(name,
                                "the first version must be active and made by the author of "
                                "the record"));
      }
      if (!first && version.state != before->state && version.sha256 != before->sha256) {
        return fail(entry_fault(name, "state and document change in one version"));
      }
      before = &version;
    }
  }
  return {};
}

// Authors that nobody knows here are kept by name, as people without an account.
Result<std::vector<std::string>> keep_people(store::Transaction& t, const Practice& practice,
                                             const Caller& caller, const Incoming& in) {
  std::vector<std::string> unknown;
  for (const view::ExportPerson& person : in.manifest.people) {
    if (person.id == in.manifest.athlete) continue;
    if (LINTEL_TRY(store::find_account(t, person.id)) ||
        LINTEL_TRY(store::id_is_taken(t, person.id))) {
      continue;
    }
    unknown.push_back(person.name);
    store::NewRecord record;
    record.kind = store::RecordKind::Practitioner;
    record.organization = caller.organization;
    record.id = person.id;
    record.document = formats::write_practitioner_document(person.name, "elsewhere");
    LINTEL_TRY(store::insert_record(t, record, {caller.person, practice.now()}));
  }
  return unknown;
}

Result<void> take_media(Practice& practice, const formats::ZipReader& zip, const Incoming& in,
                        std::vector<std::string>& added, const WorkContext& work) {
  const UnpackFolder folder = LINTEL_TRY(UnpackFolder::create(practice.data));
  for (const auto& [name, media] : in.media) {
    const fs::path file = LINTEL_TRY(zip.unpack(*zip.find(name), folder.path(), work));
    const bool there = practice.media->path_of(media.sha256).has_value();
    if (LINTEL_TRY(secure::sha256_of_file(file)) != media.sha256) {
      return fail(entry_fault(name,
                              "this file is not the one that the manifest means: another "
                              "SHA-256"));
    }
    LINTEL_TRY(practice.media->add_file(file));
    if (!there) added.push_back(media.sha256);
    std::error_code ignored;
    fs::remove(file, ignored);
  }
  return {};
}

void count(const Incoming& in, view::ImportSummary& summary) {
  std::map<std::string, std::int64_t> kinds;
  for (const view::ExportRecord& record : in.manifest.records) {
    ++kinds[record.kind];
    summary.versions += static_cast<std::int64_t>(record.versions.size());
  }
  summary.records.assign(kinds.begin(), kinds.end());
  summary.media_files = static_cast<std::int64_t>(in.media.size());
  summary.athlete = in.manifest.athlete;
  summary.name = std::get<std::string>(in.manifest.records.front().columns.athlete.front().front());
}

// Takes media that nothing refers to out again, unless all went well.
class MediaUndo {
 public:
  explicit MediaUndo(Practice& practice) : practice_(practice) {}
  MediaUndo(const MediaUndo&) = delete;
  MediaUndo& operator=(const MediaUndo&) = delete;
  ~MediaUndo() {
    for (const std::string& digest : added) {
      std::error_code ignored;
      if (const auto path = practice_.media->path_of(digest)) fs::remove(*path, ignored);
    }
  }
  std::vector<std::string> added;

 private:
  Practice& practice_;
};

}  // namespace

Result<view::ImportSummary> import_athlete(Practice& practice, const Caller& caller,
                                           const fs::path& archive, const WorkContext& work) {
  LINTEL_TRY_VOID(require(caller, Permission::WriteRecords));
  const formats::ZipReader zip = LINTEL_TRY(formats::ZipReader::open(archive));
  const Incoming in = LINTEL_TRY(read_archive(zip, practice));
  LINTEL_TRY_VOID(check_growth(in.manifest));
  LINTEL_TRY_VOID(
      practice.database->read([&](store::Transaction& t) { return check_free(t, in); }));

  MediaUndo undo(practice);
  LINTEL_TRY_VOID(take_media(practice, zip, in, undo.added, work));
  view::ImportSummary summary;
  const auto write = [&](store::Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(check_free(t, in));
    summary.unknown_people = LINTEL_TRY(keep_people(t, practice, caller, in));
    summary.library = LINTEL_TRY(take_library(t, practice, caller, in.library));
    for (const view::ExportRecord& record : in.manifest.records) {
      LINTEL_TRY_VOID(replay(t, caller, in, record));
    }
    return note_change(t, practice, caller,
                       {"athlete_imported", in.manifest.athlete, in.manifest.athlete, ""});
  };
  LINTEL_TRY_VOID(practice.database->write(write));
  undo.added.clear();
  count(in, summary);
  return summary;
}

}  // namespace lintel::app
