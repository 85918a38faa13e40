#include "app/practice.h"

#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <system_error>
#include <utility>

#include "app/text_file.h"

namespace lintel::app {
namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t kLargestSettings = 1 << 16;  // [bytes], as the reader's own limit
constexpr const char* kSettingsName = "lintel.toml";

Error folder_error(const fs::path& folder, const std::error_code& code) {
  Error error{ErrorCode::Io,
              "cannot make the data folder: " + code.message(),
              {},
              "choose a folder of your own with --data",
              {}};
  if (code == std::errc::permission_denied || code == std::errc::read_only_file_system) {
    error.code = ErrorCode::Denied;
  }
  error.with_file(folder.string());
  return error;
}

// Health data: nobody but the owner may look in, whatever the umask.
Result<void> make_private_folder(const fs::path& folder) {
  std::error_code code;
  fs::create_directories(folder, code);
  if (code) return fail(folder_error(folder, code));
  struct stat status {};
  if (::stat(folder.c_str(), &status) != 0) {
    return fail(folder_error(folder, std::error_code(errno, std::generic_category())));
  }
  if (status.st_uid != ::geteuid() || (status.st_mode & 0077) == 0) return {};
  if (::chmod(folder.c_str(), 0700) != 0) {
    return fail(folder_error(folder, std::error_code(errno, std::generic_category())));
  }
  return {};
}

void make_whole(const fs::path& base, std::string& path) {
  if (path.empty() || fs::path(path).is_absolute()) return;
  path = (base / path).lexically_normal().string();
}

Result<formats::Configuration> read_settings(const fs::path& data) {
  const fs::path file = data / kSettingsName;
  std::error_code ignored;
  if (!fs::exists(file, ignored)) return formats::Configuration{};
  const std::string text = LINTEL_TRY(read_text_file(file, kLargestSettings, ""));
  formats::ConfigurationReading reading = formats::read_configuration(text, kSettingsName);
  if (!reading.configuration) return fail(joined_faults(reading.faults));
  formats::Configuration settings = *std::move(reading.configuration);
  make_whole(data, settings.media_folder);
  make_whole(data, settings.models_folder);
  make_whole(data, settings.backup.folder);
  make_whole(data, settings.backup.passphrase_file);
  constexpr std::string_view kSqlite = "sqlite:";
  if (settings.database_url.starts_with(kSqlite)) {
    std::string path = settings.database_url.substr(kSqlite.size());
    make_whole(data, path);
    settings.database_url = std::string(kSqlite) + path;
  }
  return settings;
}

}  // namespace

std::string clock_now() {
  using std::chrono::duration_cast;
  using std::chrono::milliseconds;
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  const std::int64_t total_ms = duration_cast<milliseconds>(since).count();
  const std::time_t seconds = static_cast<std::time_t>(total_ms / 1000);
  std::tm parts{};
  ::gmtime_r(&seconds, &parts);
  char day[32];
  std::strftime(day, sizeof day, "%Y-%m-%dT%H:%M:%S", &parts);
  char whole[48];
  std::snprintf(whole, sizeof whole, "%s.%03dZ", day, static_cast<int>(total_ms % 1000));
  return whole;
}

fs::path usual_data_folder() {
  const char* given = std::getenv("XDG_DATA_HOME");
  if (given != nullptr && fs::path(given).is_absolute()) return fs::path(given) / "lintel";
  const char* home = std::getenv("HOME");
  if (home != nullptr && fs::path(home).is_absolute()) {
    return fs::path(home) / ".local" / "share" / "lintel";
  }
  return fs::path("lintel-data");  // no home: beside where the program was started
}

Result<std::unique_ptr<Practice>> open_practice(const PracticeOptions& options) {
  auto practice = std::make_unique<Practice>();
  std::error_code code;
  practice->data = fs::absolute(options.data.empty() ? usual_data_folder() : options.data, code);
  if (code) return fail(folder_error(options.data, code));
  LINTEL_TRY_VOID(make_private_folder(practice->data));
  practice->settings = LINTEL_TRY(read_settings(practice->data));

  formats::Configuration& settings = practice->settings;
  if (!options.database.empty()) settings.database_url = options.database;
  if (!options.media.empty()) settings.media_folder = fs::absolute(options.media, code).string();
  if (!options.models.empty()) settings.models_folder = options.models.string();

  store::DatabaseOptions database;
  database.url = settings.database_url.empty() ? "sqlite:" + (practice->data / "lintel.db").string()
                                               : settings.database_url;
  practice->database = LINTEL_TRY(store::Database::open(database));
  practice->media = LINTEL_TRY(store::MediaFolder::open(
      settings.media_folder.empty() ? practice->data / "media" : fs::path(settings.media_folder)));
  practice->models = settings.models_folder;
  practice->now = options.now ? options.now : clock_now;
  return practice;
}

}  // namespace lintel::app
