// The server: listens, answers by routes and the web app's files, stops gracefully.
#pragma once

#include <chrono>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "server/gate.h"
#include "server/http.h"
#include "server/static_files.h"

namespace lintel::server {

struct TlsFiles {
  std::filesystem::path certificate, key;  // PEM; the certificate with its chain
};

struct ServerOptions {
  std::string address = "127.0.0.1";
  std::uint16_t port = 0;          // 0 = any free one
  std::optional<TlsFiles> tls;     // without: loopback only
  std::vector<std::string> names;  // further host names under which it is reached
  std::string proxy;               // address of a reverse proxy whose X-Forwarded-For counts

  int io_threads = 1;
  int pool_threads = 8;                   // handlers run there
  std::size_t queue = 1024;               // requests that wait for a handler; more: 503
  std::size_t connections = 1024;         // more: closed at once
  std::size_t connections_of_peer = 256;  // of one other machine, unless it is the proxy
  std::size_t header_bytes = 16 * 1024;
  std::size_t bodies_bytes = std::size_t{512} << 20;  // all bodies held at one time; more: 503

  std::chrono::milliseconds idle_time{60'000};    // between two requests of one connection
  std::chrono::milliseconds header_time{10'000};  // for the whole header
  std::chrono::milliseconds stall_time{20'000};   // without one byte of a body, in or out
  std::size_t slowest_body = 8 * 1024;            // bytes a second, after one stall_time
  std::chrono::milliseconds stop_time{5'000};     // for what runs when the server is told to stop

  int peer_per_minute = 6000;    // requests of one peer (not loopback); 0 = no limit
  int caller_per_minute = 6000;  // requests of one signed-in person (not on loopback); 0 = no limit
  bool limit_routes = true;      // Route::per_minute counts
  std::function<void(const std::string&)> log;  // one line for faults of ours; no personal data
};

// Running from start() to the end of the object. Thread-safe.
class Server {
 public:
  // Errors: Invalid (address, two routes alike, certificate), Denied (not loopback, without TLS),
  // Conflict (port in use), Io.
  static Result<std::unique_ptr<Server>> start(ServerOptions options, std::vector<Route> routes,
                                               Gate gate, StaticFiles files = {});

  virtual ~Server() = default;
  Server(const Server&) = delete;
  Server& operator=(const Server&) = delete;

  virtual std::uint16_t port() const = 0;
  virtual std::string url() const = 0;  // "http://127.0.0.1:8421"
  // No new connections; what runs gets stop_time to end; event streams end. Waits for it.
  virtual void stop() = 0;

 protected:
  Server() = default;
};

}  // namespace lintel::server
