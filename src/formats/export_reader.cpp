#include <cmath>
#include <map>
#include <set>
#include <utility>

#include "base/date.h"
#include "base/instant.h"
#include "formats/export_json.h"
#include "formats/field_reader.h"

namespace lintel::formats {
namespace {

constexpr JsonLimits kManifestLimits{std::size_t{32} << 20, 12, 400'000, 100};
constexpr JsonLimits kDocumentLimits{std::size_t{32} << 20, 64, 2'000'000, 2'000};
constexpr std::size_t kLongestReason = 4000;  // [bytes]
constexpr double kMostBytes = 1e13;
// Kinds that belong to an athlete.
const std::vector<std::string> kKinds = {"athlete",     "visit", "trial",       "tests",
                                         "overrulings", "plan",  "session_log", "attachment"};
const std::vector<std::string> kLibraryKinds = {"protocol", "drill"};
const std::vector<std::string> kLibraryStates = {"active", "archived"};
constexpr std::size_t kMostOfLibrary = 1000;
const std::vector<std::string> kStates = {"active", "archived", "withdrawn"};

bool is_hex(std::string_view text, std::size_t digits) {
  return text.size() == digits &&
         text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

// "2ed6657d-e927-568b-95e1-2665a8aea6a2", lower case.
bool is_id(std::string_view text) {
  std::string hex;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool hyphen = i == 8 || i == 13 || i == 18 || i == 23;
    if (hyphen != (text[i] == '-')) return false;
    if (!hyphen) hex += text[i];
  }
  return text.size() == 36 && is_hex(hex, 32);
}

class ManifestReader {
 public:
  explicit ManifestReader(FaultList& faults) : faults_(faults), fields_(faults) {}

  view::ExportManifest read(const JsonValue& root) {
    view::ExportManifest out;
    if (!fields_.is_kind(root, "the file", JsonKind::Object)) return out;
    fields_.check_schema(root, "lintel-export-1");
    if (!faults_.empty()) return out;  // of another schema nothing else is known
    fields_.check_keys(root, "",
                       {"schema", "exported_at", "program_version", "athlete", "people", "records",
                        "library", "missing_media", "cautions"});
    out.exported_at = instant(root, "", "exported_at");
    out.program_version = fields_.text(root, "", "program_version", Presence::Required, 60);
    out.athlete = id(root, "", "athlete");
    read_people(root, out);
    if (const JsonValue* list =
            fields_.member(root, "", "missing_media", JsonKind::Array, Presence::Required)) {
      for (const JsonValue& item : list->items) {
        if (digest_of(item, "missing_media")) out.missing_media.push_back(item.text);
      }
    }
    read_records(root, out);
    read_library(root, out);
    return out;
  }

 private:
  std::string id(const JsonValue& object, const std::string& path, const std::string& key,
                 Presence presence = Presence::Required) {
    const JsonValue* value = fields_.member(object, path, key, JsonKind::String, presence);
    if (value == nullptr) return {};
    if (is_id(value->text)) return value->text;
    faults_.add(*value, path + key, "is no id (a UUID in lower case)");
    return {};
  }

  // Who made or changed it: an id, or whatever short word another program put there.
  std::string author(const JsonValue& object, const std::string& path, const std::string& key) {
    return fields_.text(object, path, key, Presence::Required, 60);
  }

  std::string instant(const JsonValue& object, const std::string& path, const std::string& key) {
    const JsonValue* value =
        fields_.member(object, path, key, JsonKind::String, Presence::Required);
    if (value == nullptr) return {};
    if (parse_instant(value->text)) return value->text;
    faults_.add(*value, path + key, "is no time", "write it as 2026-03-09T07:05:30.123Z");
    return {};
  }

  bool digest_of(const JsonValue& value, const std::string& field) {
    if (!fields_.is_kind(value, field, JsonKind::String)) return false;
    if (is_hex(value.text, 64)) return true;
    faults_.add(value, field, "is no SHA-256 (64 hexadecimal digits in lower case)");
    return false;
  }

  std::string digest(const JsonValue& object, const std::string& path) {
    const JsonValue* value =
        fields_.member(object, path, "sha256", JsonKind::String, Presence::Required);
    return value != nullptr && digest_of(*value, path + "sha256") ? value->text : std::string();
  }

  void expect_file(const JsonValue& object, const std::string& path, const std::string& name) {
    const JsonValue* value =
        fields_.member(object, path, "file", JsonKind::String, Presence::Required);
    if (value != nullptr && value->text != name) {
      faults_.add(*value, path + "file", "must be " + name);
    }
  }

  void read_people(const JsonValue& root, view::ExportManifest& out) {
    const JsonValue* list = fields_.member(root, "", "people", JsonKind::Array, Presence::Required);
    if (list == nullptr) return;
    for (std::size_t i = 0; i < list->items.size() && !faults_.full(); ++i) {
      const std::string path = "people[" + std::to_string(i) + "].";
      const JsonValue& item = list->items[i];
      if (!fields_.is_kind(item, path, JsonKind::Object)) continue;
      fields_.check_keys(item, path, {"id", "name"});
      out.people.push_back(
          {id(item, path, "id"), fields_.text(item, path, "name", Presence::Required, 200)});
    }
  }

  void read_records(const JsonValue& root, view::ExportManifest& out) {
    const JsonValue* list =
        fields_.member(root, "", "records", JsonKind::Array, Presence::Required);
    if (list == nullptr) return;
    std::set<std::string> seen;
    for (std::size_t i = 0; i < list->items.size() && !faults_.full(); ++i) {
      const std::string path = "records[" + std::to_string(i) + "].";
      const JsonValue& item = list->items[i];
      if (!fields_.is_kind(item, path, JsonKind::Object)) continue;
      view::ExportRecord record = read_record(item, path);
      if (!record.id.empty() && !seen.insert(record.id).second) {
        faults_.add(item, path + "id", "stands here for the second time");
      }
      if (!record.parent.empty() &&
          (seen.count(record.parent) == 0 || record.parent == record.id)) {
        faults_.add(item, path + "parent", "names no record before this one");
      }
      if ((i == 0) != (record.kind == "athlete" && record.id == out.athlete)) {
        faults_.add(item, path + "kind",
                    "the athlete must be the first record, and the only one "
                    "of its kind");
      }
      out.records.push_back(std::move(record));
    }
    if (list->items.empty()) faults_.add(*list, "records", "is empty");
  }

  void read_library(const JsonValue& root, view::ExportManifest& out) {
    const JsonValue* list =
        fields_.member(root, "", "library", JsonKind::Array, Presence::Optional);
    if (list == nullptr) return;
    if (list->items.size() > kMostOfLibrary) {
      faults_.add(*list, "library", "has more than " + std::to_string(kMostOfLibrary) + " entries");
      return;
    }
    std::set<std::string> seen;
    for (std::size_t i = 0; i < list->items.size() && !faults_.full(); ++i) {
      const std::string path = "library[" + std::to_string(i) + "].";
      const JsonValue& item = list->items[i];
      if (!fields_.is_kind(item, path, JsonKind::Object)) continue;
      view::ExportLibraryEntry entry = read_library_entry(item, path);
      if (!seen.insert(entry.kind + " " + entry.name).second) {
        faults_.add(item, path + "name", "stands here for the second time");
      }
      out.library.push_back(std::move(entry));
    }
  }

  view::ExportLibraryEntry read_library_entry(const JsonValue& item, const std::string& path) {
    view::ExportLibraryEntry entry;
    fields_.check_keys(item, path, {"kind", "name", "state", "sha256", "file"});
    if (const auto kind = fields_.word(item, path, "kind", Presence::Required, kLibraryKinds)) {
      entry.kind = kLibraryKinds[*kind];
    }
    if (const auto state = fields_.word(item, path, "state", Presence::Required, kLibraryStates)) {
      entry.state = kLibraryStates[*state];
    }
    entry.name = fields_.text(item, path, "name", Presence::Required, 60);
    if (entry.name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_-") !=
        std::string::npos) {
      faults_.add(item, path + "name", "is no id of a protocol or drill");
    }
    entry.sha256 = digest(item, path);
    expect_file(item, path, export_library_name(entry.kind, entry.name));
    return entry;
  }

  view::ExportRecord read_record(const JsonValue& item, const std::string& path) {
    view::ExportRecord record;
    fields_.check_keys(
        item, path,
        {"id", "kind", "parent", "created_at", "created_by", "versions", "columns", "media"});
    record.id = id(item, path, "id");
    if (const auto kind = fields_.word(item, path, "kind", Presence::Required, kKinds)) {
      record.kind = kKinds[*kind];
    }
    record.parent = id(item, path, "parent", Presence::Optional);
    record.created_at = instant(item, path, "created_at");
    record.created_by = author(item, path, "created_by");
    if (const JsonValue* versions =
            fields_.member(item, path, "versions", JsonKind::Array, Presence::Required)) {
      read_versions(*versions, path, record);
    }
    if (const JsonValue* columns =
            fields_.member(item, path, "columns", JsonKind::Object, Presence::Required)) {
      read_columns(*columns, path + "columns.", record);
    }
    if (const JsonValue* media =
            fields_.member(item, path, "media", JsonKind::Array, Presence::Required)) {
      read_media(*media, path, record);
    }
    return record;
  }

  void read_versions(const JsonValue& list, const std::string& path, view::ExportRecord& record) {
    if (list.items.empty()) faults_.add(list, path + "versions", "is empty");
    for (std::size_t i = 0; i < list.items.size() && !faults_.full(); ++i) {
      const std::string here = path + "versions[" + std::to_string(i) + "].";
      const JsonValue& item = list.items[i];
      if (!fields_.is_kind(item, here, JsonKind::Object)) continue;
      fields_.check_keys(
          item, here, {"version", "state", "changed_at", "changed_by", "sha256", "file", "reason"});
      view::ExportVersion version;
      const auto number =
          fields_.whole_number(item, here, "version", Presence::Required, 1, 1'000'000);
      version.version = number.value_or(0);
      if (number && version.version != static_cast<std::int64_t>(i) + 1) {
        faults_.add(item, here + "version",
                    "is " + std::to_string(*number) + " where version " + std::to_string(i + 1) +
                        " must come: versions have no gaps");
      }
      if (const auto state = fields_.word(item, here, "state", Presence::Required, kStates)) {
        version.state = kStates[*state];
      }
      version.changed_at = instant(item, here, "changed_at");
      version.changed_by = author(item, here, "changed_by");
      version.reason = fields_.text(item, here, "reason", Presence::Optional, kLongestReason);
      version.sha256 = digest(item, here);
      expect_file(item, here, export_document_name(record.kind, record.id, version.version));
      record.versions.push_back(std::move(version));
    }
  }

  void read_media(const JsonValue& list, const std::string& path, view::ExportRecord& record) {
    for (std::size_t i = 0; i < list.items.size() && !faults_.full(); ++i) {
      const std::string here = path + "media[" + std::to_string(i) + "].";
      const JsonValue& item = list.items[i];
      if (!fields_.is_kind(item, here, JsonKind::Object)) continue;
      fields_.check_keys(item, here, {"sha256", "bytes", "media_type", "file"});
      view::ExportMedia media;
      media.sha256 = digest(item, here);
      media.media_type = fields_.text(item, here, "media_type", Presence::Required, 100);
      if (!media.media_type.empty() && !is_export_media_type(media.media_type)) {
        faults_.add(item, here + "media_type", "is a kind of file that is not taken in");
      }
      const auto bytes =
          fields_.number(item, here, "bytes", Presence::Required, {0.0, kMostBytes, "bytes"});
      if (bytes && *bytes != std::floor(*bytes)) {
        faults_.add(item, here + "bytes", "must be a whole number");
      }
      media.bytes = static_cast<std::int64_t>(bytes.value_or(0.0));
      expect_file(item, here, export_media_name(media.sha256, media.media_type));
      record.media.push_back(std::move(media));
    }
  }

  void read_columns(const JsonValue& object, const std::string& path, view::ExportRecord& record) {
    fields_.check_keys(object, path, {"date", "athlete", "tests", "drills", "measures", "due"});
    view::ExportColumns& out = record.columns;
    if (const JsonValue* date =
            fields_.member(object, path, "date", JsonKind::String, Presence::Optional)) {
      if (!Date::parse(date->text)) faults_.add(*date, path + "date", "is no day of the calendar");
      out.date = date->text;
    }
    read_rows(object, path, "athlete", view::kExportAthlete, out.athlete);
    read_rows(object, path, "tests", view::kExportTests, out.tests);
    read_rows(object, path, "drills", view::kExportDrills, out.drills);
    read_rows(object, path, "measures", view::kExportMeasures, out.measures);
    read_rows(object, path, "due", view::kExportDue, out.due);
    if (out.athlete.size() > 1 || (record.kind == "athlete") == out.athlete.empty()) {
      faults_.add(object, path + "athlete", "must have one row for an athlete, and none elsewhere");
    }
  }

  void read_rows(const JsonValue& object, const std::string& path, const std::string& key,
                 const std::vector<view::TableColumn>& columns, std::vector<view::TableRow>& out) {
    const JsonValue* list = fields_.member(object, path, key, JsonKind::Array, Presence::Optional);
    if (list == nullptr) return;
    for (std::size_t i = 0; i < list->items.size() && !faults_.full(); ++i) {
      const std::string field = path + key + "[" + std::to_string(i) + "]";
      const JsonValue& item = list->items[i];
      if (!fields_.is_kind(item, field, JsonKind::Array)) continue;
      if (item.items.size() != columns.size()) {
        faults_.add(item, field, "must have " + std::to_string(columns.size()) + " values");
        continue;
      }
      view::TableRow row;
      for (std::size_t c = 0; c < columns.size(); ++c) {
        row.push_back(read_cell(item.items[c], field + "." + columns[c].name, columns[c]));
      }
      out.push_back(std::move(row));
    }
  }

  view::TableCell read_cell(const JsonValue& value, const std::string& field,
                            const view::TableColumn& column) {
    if (value.kind == JsonKind::Null && column.name == "pain") return {};
    if (column.type == view::ColumnType::Text) {
      if (!fields_.is_kind(value, field, JsonKind::String)) return std::string();
      if (value.text.size() > 1000) faults_.add(value, field, "is longer than 1000 bytes");
      const bool day =
          column.name == "date" || (column.name == "birth_date" && !value.text.empty());
      if (day && !Date::parse(value.text)) faults_.add(value, field, "is no day of the calendar");
      return value.text;
    }
    const auto number = fields_.number_of(value, field, {-1e9, 1e9});
    if (column.type == view::ColumnType::Real) return number.value_or(0.0);
    if (number && *number != std::floor(*number))
      faults_.add(value, field, "must be a whole number");
    return static_cast<std::int64_t>(number.value_or(0.0));
  }

  FaultList& faults_;
  FieldReader fields_;
};

void collect_digests(const JsonValue& value, std::vector<std::string>& out) {
  for (const JsonValue& item : value.items) collect_digests(item, out);
  for (const JsonMember& member : value.members) {
    const bool digest = member.name == "sha256" && member.value.kind == JsonKind::String;
    if (digest && is_hex(member.value.text, 64)) out.push_back(member.value.text);
    collect_digests(member.value, out);
  }
}

}  // namespace

ExportReading read_export_manifest(std::string_view text, std::string_view file_name) {
  ExportReading reading;
  FaultList faults;
  auto root = parse_json(text, kManifestLimits);
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    view::ExportManifest manifest = ManifestReader(faults).read(*root);
    if (faults.empty()) reading.manifest = std::move(manifest);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

Result<std::vector<std::string>> digests_in_document(std::string_view text,
                                                     std::string_view file_name) {
  const auto root = parse_json(text, kDocumentLimits);
  if (!root) {
    Error error = root.error();
    return fail(std::move(error.with_file(file_name)));
  }
  if (root->kind != JsonKind::Object) {
    return fail(
        Error{ErrorCode::Invalid, "a document must be an object", {}, "", {}}.with_file(file_name));
  }
  std::vector<std::string> out;
  collect_digests(*root, out);
  return out;
}

}  // namespace lintel::formats
