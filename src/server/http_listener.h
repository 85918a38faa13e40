// Connections: accepting, reading requests, sending answers. Beast and Asio stay in
// http_connection.cpp.
#pragma once

#include <cstdint>
#include <memory>

#include "base/result.h"
#include "server/server.h"
#include "server/service.h"

namespace lintel::server {

class Listener {
 public:
  // Listens at once. Errors: Invalid for the address or the certificate, Conflict when the port is
  // in use, Io. The service must outlive it.
  static Result<std::unique_ptr<Listener>> start(const ServerOptions& options, Service& service);

  virtual ~Listener() = default;
  virtual std::uint16_t port() const = 0;
  // Ends every connection: idle ones at once, the others after their answer or `stop_time`. A
  // handler that does not look at its stop token is waited for.
  virtual void stop() = 0;
};

}  // namespace lintel::server
