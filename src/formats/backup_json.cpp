#include "formats/backup_json.h"

#include <cmath>
#include <functional>
#include <optional>
#include <utility>

#include <nlohmann/json.hpp>

#include "formats/utf8.h"

namespace lintel::formats {
namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kAbout = "lintel-backup-1";
constexpr const char* kManifest = "lintel-backup-manifest-1";
constexpr const char* kEnd = "lintel-backup-end-1";
constexpr const char* kHexKey = "bytes_hex";  // text that is not UTF-8

Error part_error(const std::string& what) {
  return Error{ErrorCode::Invalid,
               "the backup is not well-formed: " + what,
               {},
               "take another copy of this backup",
               {}};
}

// Whatever the JSON library throws becomes one error.
template <typename T>
Result<T> reading(std::string_view text, const char* schema,
                  const std::function<Result<T>(const Json&)>& body) {
  try {
    const Json root = Json::parse(text);
    const std::string found = root.at("schema").get<std::string>();
    if (found != schema) {
      return fail(ErrorCode::Unsupported,
                  "the backup has the schema " + valid_utf8(found.substr(0, 60)) +
                      "; this program reads " + schema,
                  "use the newer program that wrote it");
    }
    return body(root);
  } catch (const Json::exception&) {
    return fail(part_error(std::string("a part that should be ") + schema + " is not"));
  }
}

const char* type_word(view::ColumnType type) {
  switch (type) {
    case view::ColumnType::Integer:
      return "integer";
    case view::ColumnType::Real:
      return "real";
    case view::ColumnType::Text:
      break;
  }
  return "text";
}

std::optional<view::ColumnType> type_of(const std::string& word) {
  for (const auto type :
       {view::ColumnType::Integer, view::ColumnType::Real, view::ColumnType::Text}) {
    if (word == type_word(type)) return type;
  }
  return std::nullopt;
}

std::string hex_of(std::string_view bytes) {
  static constexpr char kDigits[] = "0123456789abcdef";
  std::string out;
  for (const char byte : bytes) {
    out += kDigits[static_cast<unsigned char>(byte) >> 4];
    out += kDigits[static_cast<unsigned char>(byte) & 15];
  }
  return out;
}

std::optional<std::string> from_hex(const std::string& hex) {
  const auto digit = [](char c) {
    return c >= '0' && c <= '9' ? c - '0' : c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
  };
  std::string out;
  if (hex.size() % 2 != 0) return std::nullopt;
  for (std::size_t i = 0; i < hex.size(); i += 2) {
    if (digit(hex[i]) < 0 || digit(hex[i + 1]) < 0) return std::nullopt;
    out += static_cast<char>(digit(hex[i]) * 16 + digit(hex[i + 1]));
  }
  return out;
}

Json cell_json(const view::TableCell& cell) {
  if (const auto* integer = std::get_if<std::int64_t>(&cell)) return *integer;
  if (const auto* real = std::get_if<double>(&cell)) return *real;
  if (const auto* text = std::get_if<std::string>(&cell)) {
    if (valid_utf8(*text) == *text) return *text;
    return Json{{kHexKey, hex_of(*text)}};
  }
  return nullptr;
}

std::optional<view::TableCell> cell_of(const Json& json, view::ColumnType type) {
  if (json.is_null()) return view::TableCell{};
  switch (type) {
    case view::ColumnType::Integer:
      if (json.is_number_integer()) return view::TableCell{json.get<std::int64_t>()};
      return std::nullopt;
    case view::ColumnType::Real:
      if (json.is_number()) return view::TableCell{json.get<double>()};
      return std::nullopt;
    case view::ColumnType::Text:
      break;
  }
  if (json.is_string()) return view::TableCell{json.get<std::string>()};
  if (!json.is_object()) return std::nullopt;
  const std::optional<std::string> bytes = from_hex(json.at(kHexKey).get<std::string>());
  if (!bytes) return std::nullopt;
  return view::TableCell{*bytes};
}

Result<view::TableShape> table_of(const Json& json) {
  view::TableShape table;
  table.name = json.at("name").get<std::string>();
  for (const Json& column : json.at("columns")) {
    const auto type = type_of(column.at("type").get<std::string>());
    if (!type) return fail(part_error("a column has a type that is not known"));
    table.columns.push_back({column.at("name").get<std::string>(), *type});
  }
  for (const Json& index : json.at("key")) {
    const auto at = index.get<std::size_t>();
    if (at >= table.columns.size()) return fail(part_error("a key names no column"));
    table.key.push_back(at);
  }
  return table;
}

}  // namespace

std::string write_backup_about(const BackupAbout& about) {
  Json root = {{"schema", kAbout},
               {"made_at", about.made_at},
               {"program_version", about.program_version},
               {"engine", about.engine},
               {"schema_version", about.schema_version},
               {"tables", Json::array()}};
  for (const view::TableShape& table : about.tables) {
    Json columns = Json::array();
    for (const view::TableColumn& column : table.columns) {
      columns.push_back({{"name", column.name}, {"type", type_word(column.type)}});
    }
    root["tables"].push_back(
        {{"name", table.name}, {"columns", std::move(columns)}, {"key", table.key}});
  }
  return root.dump(1) + "\n";
}

Result<BackupAbout> read_backup_about(std::string_view text) {
  return reading<BackupAbout>(text, kAbout, [](const Json& root) -> Result<BackupAbout> {
    BackupAbout about;
    about.made_at = root.at("made_at").get<std::string>();
    about.program_version = root.at("program_version").get<std::string>();
    about.engine = root.at("engine").get<std::string>();
    about.schema_version = root.at("schema_version").get<std::int64_t>();
    for (const Json& table : root.at("tables")) {
      about.tables.push_back(LINTEL_TRY(table_of(table)));
    }
    return about;
  });
}

std::string write_table_row(const view::TableRow& row) {
  Json line = Json::array();
  for (const view::TableCell& cell : row) line.push_back(cell_json(cell));
  return line.dump() + "\n";
}

Result<view::TableRow> read_table_row(std::string_view line, const view::TableShape& table) {
  try {
    const Json json = Json::parse(line);
    view::TableRow row;
    bool fits = json.is_array() && json.size() == table.columns.size();
    for (std::size_t i = 0; fits && i < json.size(); ++i) {
      std::optional<view::TableCell> cell = cell_of(json[i], table.columns[i].type);
      fits = cell.has_value();
      if (fits) row.push_back(*std::move(cell));
    }
    if (fits) return row;
  } catch (const Json::exception&) {
    // told below
  }
  return fail(part_error("a row of " + table.name + " does not fit its table"));
}

std::string write_backup_manifest(const BackupManifest& manifest) {
  Json tables = Json::array(), media = Json::array();
  for (const BackupTable& table : manifest.tables) {
    tables.push_back({{"name", table.name}, {"rows", table.rows}, {"sha256", table.sha256}});
  }
  for (const BackupMedia& file : manifest.media) {
    media.push_back({{"sha256", file.sha256}, {"bytes", file.bytes}});
  }
  const Json root = {{"schema", kManifest},
                     {"digest", manifest.digest},
                     {"tables", std::move(tables)},
                     {"media", std::move(media)}};
  return root.dump(1) + "\n";
}

Result<BackupManifest> read_backup_manifest(std::string_view text) {
  return reading<BackupManifest>(text, kManifest, [](const Json& root) -> Result<BackupManifest> {
    BackupManifest manifest;
    manifest.digest = root.at("digest").get<std::string>();
    for (const Json& table : root.at("tables")) {
      manifest.tables.push_back({table.at("name").get<std::string>(),
                                 table.at("rows").get<std::int64_t>(),
                                 table.at("sha256").get<std::string>()});
    }
    for (const Json& file : root.at("media")) {
      manifest.media.push_back(
          {file.at("sha256").get<std::string>(), file.at("bytes").get<std::int64_t>()});
    }
    return manifest;
  });
}

std::string write_backup_end(const std::vector<std::string>& missing_media) {
  return Json{{"schema", kEnd}, {"missing_media", missing_media}}.dump(1) + "\n";
}

Result<std::vector<std::string>> read_backup_end(std::string_view text) {
  return reading<std::vector<std::string>>(
      text, kEnd, [](const Json& root) -> Result<std::vector<std::string>> {
        return root.at("missing_media").get<std::vector<std::string>>();
      });
}

}  // namespace lintel::formats
