#include "app/export_athlete.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include "app/audit.h"
#include "app/library_exchange.h"
#include "app/record_access.h"
#include "app/version.h"
#include "base/cautions.h"
#include "formats/account_json.h"
#include "formats/export_json.h"
#include "formats/zip_writer.h"
#include "store/accounts.h"
#include "store/record_columns.h"
#include "store/records.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

// Everything of the athlete as of one moment, documents apart.
struct Collected {
  view::ExportManifest manifest;
  std::string name;                                            // of the athlete
  std::vector<std::pair<std::string, std::string>> documents;  // name in the archive, text
};

view::ExportColumns columns_of(const store::IndexRows& index) {
  view::ExportColumns out;
  out.date = index.date;
  if (index.athlete) {
    std::string tags;
    for (const std::string& tag : index.athlete->tags) tags += (tags.empty() ? "" : "\n") + tag;
    out.athlete.push_back(
        {index.athlete->name, index.athlete->birth_date, index.athlete->sex, tags});
  }
  for (const store::TestRow& row : index.tests) {
    out.tests.push_back(
        {row.protocol, row.side, row.date, row.unit, row.value, row.standard_error});
  }
  for (const store::DrillRow& row : index.drills) {
    out.drills.push_back({row.drill, row.date, row.sets, row.minutes,
                          row.pain ? view::TableCell(*row.pain) : view::TableCell()});
  }
  for (const store::MeasureRow& row : index.measures) {
    out.measures.push_back({row.measure, row.date, row.unit, row.value, row.standard_error});
  }
  for (const store::DueRow& row : index.due) out.due.push_back({row.what, row.date});
  return out;
}

// All records of the athlete, the oldest first, the athlete before all.
Result<std::vector<store::Record>> records_of(store::Transaction& t, std::string_view organization,
                                              std::string_view athlete) {
  std::vector<store::Record> out;
  store::RecordQuery query;
  query.organization = organization;
  query.athlete = athlete;
  query.state.reset();
  store::Page page{{}, 500};
  do {
    store::RecordPage found = LINTEL_TRY(store::list_records(t, query, page));
    std::move(found.records.begin(), found.records.end(), std::back_inserter(out));
    page.after = found.next;
  } while (!page.after.empty());
  std::stable_sort(out.begin(), out.end(), [&](const auto& a, const auto& b) {
    const bool a_first = a.id == athlete, b_first = b.id == athlete;
    if (a_first != b_first) return a_first;
    return std::pair(a.created_at, a.id) < std::pair(b.created_at, b.id);
  });
  return out;
}

// A parent before its children; otherwise as they come.
std::vector<store::Record> parents_first(std::vector<store::Record> records) {
  std::vector<store::Record> out;
  std::set<std::string> there, all;
  for (const store::Record& record : records) all.insert(record.id);
  while (!records.empty()) {
    std::vector<store::Record> later;
    for (store::Record& record : records) {
      const bool waits = all.count(record.parent) > 0 && there.count(record.parent) == 0;
      if (waits && record.parent != record.id) {
        later.push_back(std::move(record));
        continue;
      }
      there.insert(record.id);
      out.push_back(std::move(record));
    }
    if (later.size() == records.size()) break;  // a circle: the database does not allow one
    records = std::move(later);
  }
  return out;
}

Result<void> collect_record(store::Transaction& t, const store::Record& record, Collected& out) {
  view::ExportRecord entry;
  entry.id = record.id;
  entry.kind = store::record_kind_name(record.kind);
  entry.parent = record.parent;
  entry.created_at = record.created_at;
  entry.created_by = record.created_by;
  for (store::Record& version :
       LINTEL_TRY(store::record_versions(t, record.organization, record.id))) {
    entry.versions.push_back({version.version, std::string(store::record_state_name(version.state)),
                              version.changed_at, version.changed_by, version.reason,
                              version.sha256});
    out.documents.emplace_back(
        formats::export_document_name(entry.kind, record.id, version.version),
        std::move(version.document));
  }
  entry.columns = columns_of(LINTEL_TRY(store::columns_of_record(t, record.id)));
  for (const store::RecordMedia& media : LINTEL_TRY(store::media_of_record(t, record.id))) {
    entry.media.push_back({media.sha256, media.media_type, media.bytes});
  }
  if (record.kind == store::RecordKind::Athlete && !entry.columns.athlete.empty()) {
    out.name = std::get<std::string>(entry.columns.athlete.front().front());
  }
  out.manifest.records.push_back(std::move(entry));
  return {};
}

// Names of those who made or changed something; an author without an account keeps the id alone.
Result<void> collect_people(store::Transaction& t, std::string_view organization, Collected& out) {
  std::set<std::string> authors;
  for (const view::ExportRecord& record : out.manifest.records) {
    authors.insert(record.created_by);
    for (const view::ExportVersion& version : record.versions) authors.insert(version.changed_by);
  }
  for (const std::string& author : authors) {
    if (author == out.manifest.athlete) {
      out.manifest.people.push_back({author, out.name});
      continue;
    }
    const auto account = LINTEL_TRY(store::find_account(t, author));
    if (account) {
      out.manifest.people.push_back({author, account->account.name});
      continue;
    }
    const auto record = store::find_record(t, organization, author);
    if (!record || record->kind != store::RecordKind::Practitioner) continue;
    const auto name = formats::read_name_of_document(record->document);
    if (name) out.manifest.people.push_back({author, *name});
  }
  return {};
}

std::string readme_of(const Collected& all) {
  std::string out =
      "Records of " + all.name + ", exported " + all.manifest.exported_at.substr(0, 10) +
      " by Lintel " + std::string(version()) +
      "\n\n"
      "What is in here\n"
      "  manifest.json   every record with its versions, who wrote it and when, and the numbers\n"
      "                  that stand in tables and curves\n"
      "  records/        the documents of each version, as they were written (JSON)\n"
      "  library/        protocols and drills of the workplace's own that the records name\n"
      "  media/          clips, pictures and pages; the name is the SHA-256 of the file\n\n"
      "Another workplace takes it in with: lintel records import FILE\n"
      "Nothing in here is encrypted: hand it on only as the person it is about wants it.\n\n"
      "Records by day\n";
  for (const view::ExportRecord& record : all.manifest.records) {
    const std::string day =
        record.columns.date.empty() ? record.created_at.substr(0, 10) : record.columns.date;
    out += "  " + day + "  " + record.kind + "\n";
    out += "      " +
           formats::export_document_name(record.kind, record.id, record.versions.back().version) +
           "\n";
    for (const view::ExportMedia& media : record.media) {
      out += "      " + formats::export_media_name(media.sha256, media.media_type) + "\n";
    }
  }
  if (!all.manifest.missing_media.empty()) {
    out += "\nThese files could not be read and are missing:\n";
    for (const std::string& digest : all.manifest.missing_media) out += "  " + digest + "\n";
  }
  return out + "\nCautions\n" + cautions_text();
}

formats::ZipWriter::Packing packing_for(std::string_view media_type) {
  const bool packed = media_type.starts_with("video/") || media_type == "image/jpeg" ||
                      media_type == "image/png" || media_type == "application/pdf";
  return packed ? formats::ZipWriter::Packing::Store : formats::ZipWriter::Packing::Deflate;
}

// Adds the media; those that cannot be read are named in the manifest.
Result<void> add_media(const Practice& practice, formats::ZipWriter& zip, Collected& all,
                       view::ExportSummary& summary, const WorkContext& work) {
  std::map<std::string, view::ExportMedia> files;  // by name: the same bytes are in once
  for (const view::ExportRecord& record : all.manifest.records) {
    for (const view::ExportMedia& media : record.media) {
      files.emplace(formats::export_media_name(media.sha256, media.media_type), media);
    }
  }
  std::set<std::string> missing;
  for (const auto& [name, media] : files) {
    if (work.cancelled()) return fail(cancelled_error());
    const auto path = practice.media->find(media.sha256);
    if (!path) {
      missing.insert(media.sha256);
      continue;
    }
    LINTEL_TRY_VOID(zip.add_file(name, *path, packing_for(media.media_type)));
    ++summary.media_files;
    summary.media_bytes += media.bytes;
    work.report("read the clips and pictures", static_cast<double>(summary.media_files),
                static_cast<double>(files.size()));
  }
  all.manifest.missing_media.assign(missing.begin(), missing.end());
  summary.missing_media = all.manifest.missing_media;
  return {};
}

Result<Collected> collect(Practice& practice, const Caller& caller, std::string_view athlete) {
  Collected all;
  const auto read = [&](store::Transaction& t) -> Result<void> {
    all = {};
    all.manifest.exported_at = practice.now();
    all.manifest.program_version = version();
    const store::Record record =
        LINTEL_TRY(find_for(t, caller, Permission::TakeOut, athlete, store::RecordKind::Athlete));
    all.manifest.athlete = record.id;
    for (const store::Record& one :
         parents_first(LINTEL_TRY(records_of(t, record.organization, record.id)))) {
      LINTEL_TRY_VOID(collect_record(t, one, all));
    }
    LibraryToGo library = LINTEL_TRY(library_named_in(t, record.organization, all.documents));
    all.manifest.library = std::move(library.entries);
    std::move(library.documents.begin(), library.documents.end(),
              std::back_inserter(all.documents));
    return collect_people(t, record.organization, all);
  };
  LINTEL_TRY_VOID(practice.database->read(read));
  return all;
}

}  // namespace

std::string file_name_of(std::string_view name) {
  std::string out;
  for (const char letter : name) {
    const bool upper = letter >= 'A' && letter <= 'Z';
    const bool plain = (letter >= 'a' && letter <= 'z') || (letter >= '0' && letter <= '9');
    if (upper || plain) {
      out += upper ? static_cast<char>(letter + 32) : letter;
    } else if (!out.empty() && out.back() != '-' && static_cast<unsigned char>(letter) < 0x80) {
      out += '-';
    }
    if (out.size() == 40) break;
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out.empty() ? "athlete" : out;
}

Result<view::ExportSummary> export_athlete(Practice& practice, const Caller& caller,
                                           std::string_view athlete, const fs::path& target,
                                           const WorkContext& work) {
  Collected all = LINTEL_TRY(collect(practice, caller, athlete));
  view::ExportSummary summary;
  summary.file = target.string();
  summary.athlete = all.manifest.athlete;
  std::map<std::string, std::int64_t> kinds;
  for (const view::ExportRecord& record : all.manifest.records) {
    ++kinds[record.kind];
    summary.versions += static_cast<std::int64_t>(record.versions.size());
  }
  summary.records.assign(kinds.begin(), kinds.end());

  formats::ZipWriter zip = LINTEL_TRY(formats::ZipWriter::create(target, all.manifest.exported_at));
  LINTEL_TRY_VOID(add_media(practice, zip, all, summary, work));
  LINTEL_TRY_VOID(zip.add_text(std::string(formats::kExportReadme), readme_of(all)));
  LINTEL_TRY_VOID(zip.add_text(std::string(formats::kExportManifest),
                               formats::write_export_manifest(all.manifest)));
  for (auto& [name, text] : all.documents) LINTEL_TRY_VOID(zip.add_text(name, std::move(text)));
  if (work.cancelled()) return fail(cancelled_error());
  LINTEL_TRY_VOID(zip.commit());
  LINTEL_TRY_VOID(practice.database->write([&](store::Transaction& t) {
    return note_change(t, practice, caller, {"export_made", summary.athlete, summary.athlete, ""});
  }));
  return summary;
}

}  // namespace lintel::app
