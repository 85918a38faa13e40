#include "server/serve_command.h"

#include <spawn.h>
#include <sys/resource.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <condition_variable>
#include <iostream>
#include <memory>
#include <mutex>
#include <nlohmann/json.hpp>
#include <thread>

#include "app/accounts.h"
#include "app/erase.h"
#include "app/practice.h"
#include "app/schedule.h"
#include "app/worker.h"
#include "server/guard.h"
#include "server/http_tls.h"
#include "server/request_text.h"
#include "server/routes.h"
#include "server/server.h"
#include "server/web_files.h"

extern char** environ;

namespace lintel::server {
namespace {

struct ServeOptions {
  std::string data, database, media, models;
  std::string listen;  // empty = what lintel.toml says, else 127.0.0.1:8421
  std::string certificate, key;
  bool make_certificate = false;
  std::vector<std::string> names;
  std::string proxy;
  int workers = 1;
  int pool_threads = 8;
  std::string web_dir;
  bool open = false;
  bool json = false;
};

tl::unexpected<Error> wrong(const char* option, std::string message, std::string mend) {
  return fail(
      Error{ErrorCode::Invalid, std::move(message), {"", 0, 0, option, -1}, std::move(mend), {}});
}

// "127.0.0.1:8421", "[::1]:0", "0.0.0.0:8421".
Result<void> read_address(const std::string& text, ServerOptions& options) {
  const Result<HostName> host = parse_host(text);
  const bool zero = text.size() > 2 && text.substr(text.size() - 2) == ":0";
  const Result<HostName> without_port = zero ? parse_host(text.substr(0, text.size() - 2)) : host;
  if (!without_port || (!zero && without_port->port == 0)) {
    return wrong("--listen", "\"" + text + "\" is not an address and a port",
                 "give one such as 127.0.0.1:8421; port 0 is any free one");
  }
  options.address = without_port->name;
  options.port = static_cast<std::uint16_t>(zero ? 0 : without_port->port);
  return {};
}

struct Tls {
  std::optional<TlsFiles> files;
  std::string fingerprint;
};

Result<Tls> tls_of(const ServeOptions& asked, const ServerOptions& options,
                   const std::filesystem::path& data) {
  Tls tls;
  if (asked.certificate.empty() != asked.key.empty()) {
    return wrong("--tls-cert", "a certificate and its key go together",
                 "give both --tls-cert and --tls-key");
  }
  if (!asked.certificate.empty() && asked.make_certificate) {
    return wrong("--tls-make", "a certificate is given already", "leave one of the two out");
  }
  if (!asked.certificate.empty()) {
    tls.files = TlsFiles{asked.certificate, asked.key};
    tls.fingerprint = LINTEL_TRY(certificate_fingerprint(asked.certificate));
  } else if (asked.make_certificate) {
    std::vector<std::string> names = machine_names();
    names.push_back("localhost");
    names.insert(names.end(), asked.names.begin(), asked.names.end());
    std::vector<std::string> addresses = {"127.0.0.1", "::1"};
    if (!is_loopback(options.address)) addresses = machine_addresses();
    const MadeCertificate made = LINTEL_TRY(own_certificate(data, names, addresses));
    tls.files = TlsFiles{made.certificate, made.key};
    tls.fingerprint = made.sha256;
  }
  return tls;
}

// Opens the page with the desktop's own opener; nothing happens where there is none.
void open_in_browser(const std::string& url) {
  std::string program = "xdg-open";
  std::string argument = url;
  char* arguments[] = {program.data(), argument.data(), nullptr};
  pid_t child = 0;
  posix_spawnp(&child, program.c_str(), nullptr, nullptr, arguments, environ);
}

// Where other devices reach it; empty when it listens on one address alone.
std::vector<std::string> other_urls(const ServerOptions& options, const Server& server) {
  std::vector<std::string> urls;
  if (options.address != "0.0.0.0" && options.address != "::") return urls;
  for (const std::string& address : machine_addresses()) {
    if (is_loopback(address)) continue;
    const bool six = address.find(':') != std::string::npos;
    if (six && options.address == "0.0.0.0") continue;
    urls.push_back("https://" + (six ? "[" + address + "]" : address) + ":" +
                   std::to_string(server.port()));
  }
  return urls;
}

// Each connection is a descriptor, and so are the files of the database: asks for as many as are
// allowed and leaves some for those.
std::size_t room_for_connections(std::size_t wanted) {
  rlimit limit = {};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0) return wanted;
  limit.rlim_cur = std::min<rlim_t>(limit.rlim_max, 8192);
  setrlimit(RLIMIT_NOFILE, &limit);
  getrlimit(RLIMIT_NOFILE, &limit);
  return std::min<std::size_t>(wanted, limit.rlim_cur - std::min<rlim_t>(256, limit.rlim_cur / 2));
}

void print_start(const ServeOptions& asked, const ServerOptions& options, const Server& server,
                 const Tls& tls, bool needs_owner) {
  if (asked.json) {
    nlohmann::ordered_json json;
    json["url"] = server.url();
    json["port"] = server.port();
    json["other_urls"] = other_urls(options, server);
    json["tls"] = tls.files.has_value();
    if (tls.files) json["certificate_sha256"] = tls.fingerprint;
    json["needs_owner"] = needs_owner;
    json["workers"] = asked.workers;
    std::cout << json.dump() << std::endl;
    return;
  }
  std::cout << "Lintel listens on " << server.url() << "\n";
  for (const std::string& url : other_urls(options, server)) {
    std::cout << "Other devices: " << url << "\n";
  }
  if (tls.files) {
    std::cout << "Certificate (SHA-256): " << tls.fingerprint << "\n";
  }
  if (needs_owner) std::cout << "There is no account yet: the first page makes the owner's.\n";
  std::cout << "Stop with Ctrl-C." << std::endl;
}

void wait_for(const std::stop_token& stop) {
  std::mutex mutex;
  std::condition_variable_any changed;
  std::unique_lock lock(mutex);
  changed.wait(lock, stop, [] { return false; });
}

// Once a minute: is a backup due (lintel.toml)? Once an hour: files that nothing
// refers to go. Ends with the thread.
std::jthread keep_house(app::Practice& practice,
                        const std::function<void(const std::string&)>& log) {
  return std::jthread([&practice, log](const std::stop_token& stop) {
    std::mutex mutex;
    std::condition_variable_any changed;
    for (int minute = 0; !stop.stop_requested(); ++minute) {
      const Result<int> made = app::run_due_backups(practice, WorkContext{stop, {}});
      if (!made) log("the backup that is due was not made: " + made.error().message);
      if (minute % 60 == 0) {
        const Result<app::Collected> collected = app::collect_media_garbage(practice);
        if (!collected) log("files without use were not removed: " + collected.error().message);
      }
      std::unique_lock lock(mutex);
      changed.wait_for(lock, stop, std::chrono::minutes(1), [] { return false; });
    }
  });
}

app::PracticeOptions place_of(const ServeOptions& asked) {
  app::PracticeOptions place;
  place.data = asked.data.empty() ? app::usual_data_folder() : std::filesystem::path(asked.data);
  place.database = asked.database;
  place.media = asked.media;
  place.models = asked.models;
  return place;
}

Result<void> serve(const ServeOptions& asked, const std::stop_token& stop) {
  const std::unique_ptr<app::Practice> practice = LINTEL_TRY(app::open_practice(place_of(asked)));
  ServerOptions options;
  // Kept: a hand-off tells phones where this server is.
  if (!asked.listen.empty()) practice->settings.listen = asked.listen;
  LINTEL_TRY_VOID(read_address(practice->settings.listen, options));
  options.names = asked.names;
  options.proxy = asked.proxy;
  options.pool_threads = asked.pool_threads;
  options.connections = room_for_connections(options.connections);
  options.log = [](const std::string& line) { std::cerr << "lintel: " + line + "\n"; };
  const bool needs_owner = LINTEL_TRY(app::needs_owner(*practice));
  if (needs_owner && !is_loopback(options.address)) {
    return fail(ErrorCode::Denied, "there is no owner with a passphrase yet",
                "start it once on 127.0.0.1 and make the owner's account there");
  }
  const Tls tls = LINTEL_TRY(tls_of(asked, options, practice->data));
  options.tls = tls.files;
  StaticFiles files = web_files();
  if (!asked.web_dir.empty()) files = LINTEL_TRY(StaticFiles::folder(asked.web_dir));

  std::unique_ptr<app::Worker> worker;
  if (asked.workers > 0) {
    app::WorkerOptions work;
    work.workers = asked.workers;
    worker = std::make_unique<app::Worker>(*practice, work);
  }
  const std::unique_ptr<Server> server = LINTEL_TRY(
      Server::start(options, all_routes(*practice), whole_gate(*practice), std::move(files)));
  const std::jthread house = keep_house(*practice, options.log);
  print_start(asked, options, *server, tls, needs_owner);
  if (asked.open) open_in_browser(server->url());
  wait_for(stop);
  server->stop();
  return {};
}

void add_options(CLI::App& command, ServeOptions& options) {
  command.add_option("--data", options.data, "Folder with the records (usual: your data folder)");
  command.add_option("--database", options.database, "Database, if not SQLite in that folder");
  command.add_option("--media", options.media, "Folder with clips and pictures");
  command.add_option("--models", options.models, "Folder with the networks");
  command.add_option("--listen", options.listen,
                     "Address and port (usual: 127.0.0.1:8421); port 0 is any free one");
  command.add_option("--tls-cert", options.certificate, "Certificate and its chain, PEM");
  command.add_option("--tls-key", options.key, "Its private key, PEM");
  command.add_flag("--tls-make", options.make_certificate,
                   "Make a certificate for this machine and keep it in the data folder");
  command.add_option("--name", options.names, "Further host name under which it is reached");
  command.add_option("--proxy", options.proxy,
                     "Address of a reverse proxy whose X-Forwarded-For is believed");
  command
      .add_option("--workers", options.workers,
                  "Clips measured at once; 0 leaves it to lintel worker")
      ->check(CLI::Range(0, 64))
      ->capture_default_str();
  command.add_option("--threads", options.pool_threads, "Requests answered at once")
      ->check(CLI::Range(1, 256))
      ->capture_default_str();
  command.add_option("--web-dir", options.web_dir, "Serve the web app from this folder");
  command.add_flag("--open", options.open, "Open the page in the browser");
  command.add_flag("--json", options.json, "Say where it listens as one line of JSON");
}

}  // namespace

std::function<std::optional<int>()> add_serve_command(CLI::App& program, std::stop_token stop) {
  auto options = std::make_shared<ServeOptions>();
  CLI::App* command = program.add_subcommand("serve", "Serve the web app and its API to browsers");
  add_options(*command, *options);
  return [command, options, stop = std::move(stop)]() -> std::optional<int> {
    if (!*command) return std::nullopt;
    const Result<void> served = serve(*options, stop);
    if (served) return 0;
    std::cerr << "lintel: " << describe(served.error()) << std::endl;
    return exit_status(served.error().code);
  };
}

}  // namespace lintel::server
