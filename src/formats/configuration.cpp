#include "formats/configuration.h"

#include <algorithm>
#include <optional>
#include <utility>

#include <toml++/toml.h>

#include "formats/located_json.h"
#include "formats/utf8.h"

namespace lintel::formats {
namespace {

constexpr std::size_t kLargestFile = std::size_t{64} << 10;  // [bytes]
constexpr std::size_t kMostFaults = 100;
constexpr std::size_t kLongestText = 1000;  // [bytes], of a path or an address

std::string type_words(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::table:
      return "a table";
    case toml::node_type::array:
      return "a list";
    case toml::node_type::string:
      return "text";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a number with a point";
    case toml::node_type::boolean:
      return "true or false";
    default:
      return "a date or a time";
  }
}

class Reader {
 public:
  explicit Reader(std::string_view file_name) : file_name_(file_name) {}

  void add(const toml::source_region& at, std::string field, std::string message,
           std::string mend) {
    if (faults_.size() >= kMostFaults) return;
    Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
    error.place.file = file_name_;
    error.place.line = static_cast<std::int64_t>(at.begin.line);
    error.place.column = static_cast<std::int64_t>(at.begin.column);
    error.place.field = std::move(field);
    faults_.push_back(std::move(error));
  }

  void check_keys(const toml::table& table, const std::string& path,
                  const std::vector<std::string>& known) {
    for (const auto& [key, value] : table) {
      const std::string name(key.str());
      if (std::find(known.begin(), known.end(), name) != known.end()) continue;
      const std::string_view nearest = nearest_word(name, known);
      std::string all;
      for (const std::string& word : known) all += (all.empty() ? "" : ", ") + word;
      add(key.source(), path + name, "nothing is known by this name",
          nearest.empty() ? "known here: " + all : "did you mean " + std::string(nearest) + "?");
    }
  }

  const toml::table* table(const toml::table& root, const std::string& name) {
    const toml::node* node = root.get(name);
    if (node == nullptr) return nullptr;
    if (const toml::table* found = node->as_table()) return found;
    add(node->source(), name, "is " + type_words(*node) + " and must be a table",
        "write [" + name + "] on a line of its own and its keys below it");
    return nullptr;
  }

  void text(const toml::table& table, const std::string& path, const std::string& key,
            std::string& out) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return;
    if (const auto found = text_of(*node, path + key)) out = *found;
  }

  std::optional<std::string> text_of(const toml::node& node, const std::string& field) {
    const auto* found = node.as_string();
    if (found == nullptr) {
      add(node.source(), field, "is " + type_words(node) + " and must be text",
          "write it between quotation marks");
      return std::nullopt;
    }
    if (found->get().empty() || found->get().size() > kLongestText) {
      add(node.source(), field, "must have 1 to 1000 bytes",
          "leave the key out for the usual value");
      return std::nullopt;
    }
    if (found->get().find('\0') != std::string::npos) {
      add(node.source(), field, "contains a null character", "take it out");
      return std::nullopt;
    }
    return found->get();
  }

  std::optional<std::int64_t> whole_number(const toml::table& table, const std::string& path,
                                           const std::string& key, std::int64_t lowest,
                                           std::int64_t highest) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return std::nullopt;
    const auto* found = node->as_integer();
    if (found != nullptr && found->get() >= lowest && found->get() <= highest) return found->get();
    add(node->source(), path + key,
        "must be a whole number from " + std::to_string(lowest) + " to " + std::to_string(highest),
        "");
    return std::nullopt;
  }

  std::vector<Error> take() {
    std::stable_sort(faults_.begin(), faults_.end(), [](const Error& a, const Error& b) {
      return std::pair(a.place.line, a.place.column) < std::pair(b.place.line, b.place.column);
    });
    return std::move(faults_);
  }
  bool clean() const { return faults_.empty(); }

 private:
  std::string file_name_;
  std::vector<Error> faults_;
};

bool is_time_of_day(std::string_view text) {
  const auto digit = [&](std::size_t at, char highest) {
    return text[at] >= '0' && text[at] <= highest;
  };
  if (text.size() != 5 || text[2] != ':') return false;
  if (!digit(0, '2') || !digit(1, '9') || !digit(3, '5') || !digit(4, '9')) return false;
  return text[0] != '2' || text[1] <= '3';
}

void read_times(Reader& reader, const toml::table& table, std::vector<std::string>& out) {
  const toml::node* node = table.get("times_utc");
  if (node == nullptr) return;
  const toml::array* list = node->as_array();
  if (list == nullptr || list->empty() || list->size() > 24) {
    reader.add(node->source(), "backup.times_utc", "must be a list of 1 to 24 times of day",
               "write it like times_utc = [\"03:30\"]");
    return;
  }
  for (const toml::node& item : *list) {
    const auto* text = item.as_string();
    if (text == nullptr || !is_time_of_day(text->get())) {
      reader.add(item.source(), "backup.times_utc", "must be a time of day in UTC",
                 "write hours and minutes like \"03:30\"");
      continue;
    }
    out.push_back(text->get());
  }
  std::sort(out.begin(), out.end());
  out.erase(std::unique(out.begin(), out.end()), out.end());
}

void read_backup(Reader& reader, const toml::table& table, BackupSettings& out) {
  const std::string path = "backup.";
  reader.check_keys(table, path,
                    {"folder", "times_utc", "keep_daily", "keep_weekly", "passphrase_file"});
  reader.text(table, path, "folder", out.folder);
  reader.text(table, path, "passphrase_file", out.passphrase_file);
  read_times(reader, table, out.times_utc);
  if (const auto daily = reader.whole_number(table, path, "keep_daily", 1, 3660)) {
    out.keep_daily = static_cast<int>(*daily);
  }
  if (const auto weekly = reader.whole_number(table, path, "keep_weekly", 0, 520)) {
    out.keep_weekly = static_cast<int>(*weekly);
  }
  if (!out.folder.empty() && out.times_utc.empty()) out.times_utc = {"03:30"};
  if (!out.folder.empty() && out.passphrase_file.empty() && !table.contains("passphrase_file")) {
    reader.add(table.source(), "backup.passphrase_file",
               "is missing: a scheduled backup needs its passphrase",
               "name a file that only its owner can read (chmod 600) with the passphrase in its "
               "first line");
  }
}

void read_all(Reader& reader, const toml::table& root, Configuration& out) {
  reader.check_keys(root, "", {"database", "media", "models", "server", "backup"});
  if (const toml::table* table = reader.table(root, "database")) {
    reader.check_keys(*table, "database.", {"url"});
    reader.text(*table, "database.", "url", out.database_url);
  }
  if (const toml::table* table = reader.table(root, "media")) {
    reader.check_keys(*table, "media.", {"folder"});
    reader.text(*table, "media.", "folder", out.media_folder);
  }
  if (const toml::table* table = reader.table(root, "models")) {
    reader.check_keys(*table, "models.", {"folder"});
    reader.text(*table, "models.", "folder", out.models_folder);
  }
  if (const toml::table* table = reader.table(root, "server")) {
    reader.check_keys(*table, "server.", {"listen", "upload_limit_mb"});
    reader.text(*table, "server.", "listen", out.listen);
    if (const auto limit = reader.whole_number(*table, "server.", "upload_limit_mb", 1, 65536)) {
      out.upload_limit_bytes = *limit << 20;
    }
  }
  if (const toml::table* table = reader.table(root, "backup"))
    read_backup(reader, *table, out.backup);
}

Error file_fault(ErrorCode code, std::string_view file_name, std::string message,
                 std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.with_file(file_name);
  return error;
}

}  // namespace

ConfigurationReading read_configuration(std::string_view text, std::string_view file_name) {
  ConfigurationReading out;
  if (text.size() > kLargestFile) {
    out.faults.push_back(file_fault(ErrorCode::Limit, file_name, "is larger than 64 KiB",
                                    "give the file that sets up the workplace"));
    return out;
  }
  try {
    const toml::table root = toml::parse(text, std::string(file_name));
    Reader reader(file_name);
    Configuration configuration;
    read_all(reader, root, configuration);
    if (reader.clean()) out.configuration = std::move(configuration);
    out.faults = reader.take();
  } catch (const toml::parse_error& error) {
    Error fault =
        file_fault(ErrorCode::Invalid, file_name, "is not TOML: " + valid_utf8(error.description()),
                   "see docs/privacy-and-security.md for a whole example");
    fault.place.line = static_cast<std::int64_t>(error.source().begin.line);
    fault.place.column = static_cast<std::int64_t>(error.source().begin.column);
    out.faults.push_back(std::move(fault));
  }
  return out;
}

}  // namespace lintel::formats
