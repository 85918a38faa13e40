#include "formats/export_json.h"

#include <array>
#include <utility>

#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

struct MediaEnding {
  std::string_view type, ending;
};
constexpr std::array<MediaEnding, 20> kEndings{{
    {"application/json", ".json"}, {"application/octet-stream", ".bin"},
    {"application/pdf", ".pdf"},   {"application/zip", ".zip"},
    {"image/gif", ".gif"},         {"image/heic", ".heic"},
    {"image/jpeg", ".jpg"},        {"image/png", ".png"},
    {"image/svg+xml", ".svg"},     {"image/webp", ".webp"},
    {"text/calendar", ".ics"},     {"text/csv", ".csv"},
    {"text/plain", ".txt"},        {"video/3gpp", ".3gp"},
    {"video/mp4", ".mp4"},         {"video/mpeg", ".mpg"},
    {"video/quicktime", ".mov"},   {"video/webm", ".webm"},
    {"video/x-matroska", ".mkv"},  {"video/x-msvideo", ".avi"},
}};

std::string_view base_type(std::string_view media_type) {
  return media_type.substr(0, media_type.find(';'));
}

Json cell_json(const view::TableCell& cell) {
  if (const auto* integer = std::get_if<std::int64_t>(&cell)) return *integer;
  if (const auto* real = std::get_if<double>(&cell)) return *real;
  if (const auto* text = std::get_if<std::string>(&cell)) return *text;
  return nullptr;
}

Json rows_json(const std::vector<view::TableRow>& rows) {
  Json out = Json::array();
  for (const view::TableRow& row : rows) {
    Json line = Json::array();
    for (const view::TableCell& cell : row) line.push_back(cell_json(cell));
    out.push_back(std::move(line));
  }
  return out;
}

Json columns_json(const view::ExportColumns& columns) {
  Json out = Json::object();
  if (!columns.date.empty()) out["date"] = columns.date;
  const auto add = [&](const char* name, const std::vector<view::TableRow>& rows) {
    if (!rows.empty()) out[name] = rows_json(rows);
  };
  add("athlete", columns.athlete);
  add("tests", columns.tests);
  add("drills", columns.drills);
  add("measures", columns.measures);
  add("due", columns.due);
  return out;
}

Json record_json(const view::ExportRecord& record) {
  Json versions = Json::array(), media = Json::array();
  for (const view::ExportVersion& version : record.versions) {
    Json one = {{"version", version.version},
                {"state", version.state},
                {"changed_at", version.changed_at},
                {"changed_by", version.changed_by},
                {"sha256", version.sha256},
                {"file", export_document_name(record.kind, record.id, version.version)}};
    if (!version.reason.empty()) one["reason"] = version.reason;
    versions.push_back(std::move(one));
  }
  for (const view::ExportMedia& file : record.media) {
    media.push_back({{"sha256", file.sha256},
                     {"bytes", file.bytes},
                     {"media_type", file.media_type},
                     {"file", export_media_name(file.sha256, file.media_type)}});
  }
  Json out = {{"id", record.id}, {"kind", record.kind}};
  if (!record.parent.empty()) out["parent"] = record.parent;
  out["created_at"] = record.created_at;
  out["created_by"] = record.created_by;
  out["versions"] = std::move(versions);
  out["columns"] = columns_json(record.columns);
  out["media"] = std::move(media);
  return out;
}

}  // namespace

std::string export_document_name(std::string_view kind, std::string_view id, std::int64_t version) {
  return "records/" + std::string(kind) + "/" + std::string(id) + "/v" + std::to_string(version) +
         ".json";
}

std::string export_library_name(std::string_view kind, std::string_view name) {
  return "library/" + std::string(kind) + "/" + std::string(name) + ".json";
}

std::string export_media_name(std::string_view sha256, std::string_view media_type) {
  std::string_view ending = ".bin";
  for (const MediaEnding& known : kEndings) {
    if (known.type == base_type(media_type)) ending = known.ending;
  }
  return "media/" + std::string(sha256) + std::string(ending);
}

bool is_export_media_type(std::string_view media_type) {
  for (const MediaEnding& known : kEndings) {
    if (known.type == base_type(media_type)) return true;
  }
  return false;
}

std::string write_export_manifest(const view::ExportManifest& manifest) {
  Json people = Json::array(), records = Json::array();
  for (const view::ExportPerson& person : manifest.people) {
    people.push_back({{"id", person.id}, {"name", person.name}});
  }
  for (const view::ExportRecord& record : manifest.records) records.push_back(record_json(record));
  Json root = {{"schema", "lintel-export-1"},
               {"exported_at", manifest.exported_at},
               {"program_version", manifest.program_version},
               {"athlete", manifest.athlete},
               {"people", std::move(people)},
               {"records", std::move(records)}};
  // Only where there is something: a program that knows nothing of it takes in all others.
  for (const view::ExportLibraryEntry& entry : manifest.library) {
    root["library"].push_back({{"kind", entry.kind},
                               {"name", entry.name},
                               {"state", entry.state},
                               {"sha256", entry.sha256},
                               {"file", export_library_name(entry.kind, entry.name)}});
  }
  root["missing_media"] = manifest.missing_media;
  root["cautions"] = cautions_json();
  return root.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
