#include "server/server.h"

#include "server/http_listener.h"
#include "server/request_text.h"
#include "server/service.h"

namespace lintel::server {
namespace {

class RunningServer final : public Server {
 public:
  RunningServer(const ServerOptions& options, Router router, Gate gate, StaticFiles files,
                GuardOptions guard)
      : address_(options.address),
        tls_(options.tls.has_value()),
        service_(std::move(router), std::move(gate), std::move(files), std::move(guard),
                 options.log) {}
  ~RunningServer() override { stop(); }

  Result<void> listen(const ServerOptions& options) {
    listener_ = LINTEL_TRY(Listener::start(options, service_));
    return {};
  }
  std::uint16_t port() const override { return listener_->port(); }
  std::string url() const override {
    const bool six = address_.find(':') != std::string::npos;
    const bool any = address_ == "0.0.0.0" || address_ == "::";
    const std::string host = any   ? machine_names().empty() ? "localhost" : machine_names().front()
                               : six ? "[" + address_ + "]"
                                   : address_;
    return (tls_ ? "https://" : "http://") + host + ":" + std::to_string(port());
  }
  void stop() override {
    if (listener_) listener_->stop();
  }

 private:
  std::string address_;
  bool tls_;
  Service service_;
  std::unique_ptr<Listener> listener_;
};

}  // namespace

Result<std::unique_ptr<Server>> Server::start(ServerOptions options, std::vector<Route> routes,
                                              Gate gate, StaticFiles files) {
  if (options.address == "localhost") options.address = "127.0.0.1";
  if (!is_ip_address(options.address)) {
    return fail(ErrorCode::Invalid, "\"" + options.address + "\" is not an IP address",
                "give an address of this machine, such as 127.0.0.1");
  }
  if (!is_loopback(options.address) && !options.tls) {
    return fail(ErrorCode::Denied,
                "other machines may reach " + options.address + " only through TLS",
                "add --tls-make, or --tls-cert and --tls-key, or listen on 127.0.0.1");
  }
  Router router = LINTEL_TRY(Router::create(std::move(routes)));
  GuardOptions guard;
  guard.peer_per_minute = options.peer_per_minute;
  guard.caller_per_minute = options.caller_per_minute;
  guard.limit_routes = options.limit_routes;
  for (const std::string& name : options.names) guard.names.insert(lower(name));
  if (!is_loopback(options.address)) {
    for (const std::string& name : machine_names()) guard.names.insert(name);
  }
  auto server = std::make_unique<RunningServer>(options, std::move(router), std::move(gate),
                                                std::move(files), std::move(guard));
  LINTEL_TRY_VOID(server->listen(options));
  return server;
}

}  // namespace lintel::server
