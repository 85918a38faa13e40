#include "server/http_listener.h"

#include "server/http_connection.h"

#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/strand.hpp>
#include <thread>
#include <vector>

#include "server/http_tls.h"
#include "server/request_text.h"

namespace lintel::server {
namespace {

using net::ip::tcp;

class BeastListener final : public Listener {
 public:
  BeastListener(const ServerOptions& options, Service& service)
      : options_(options),
        pool_(options.pool_threads, options.queue),
        hub_{options_, service, pool_, {}, {}, {}, {}, {}, {}},
        acceptor_(net::make_strand(context_)) {}
  ~BeastListener() override { stop(); }

  Result<void> listen();
  std::uint16_t port() const override { return port_; }
  void stop() override;

 private:
  net::awaitable<void> accept();
  void add_connection(tcp::socket socket);
  bool has_room_for(const Connection& connection) const;
  void for_each_connection(bool at_once);

  const ServerOptions options_;
  net::io_context context_;
  std::unique_ptr<net::ssl::context> tls_;
  WorkPool pool_;
  Hub hub_;
  tcp::acceptor acceptor_;
  std::uint16_t port_ = 0;
  bool stopped_ = false;
  std::vector<std::jthread> threads_;
};

Result<void> BeastListener::listen() {
  if (options_.tls) {
    ssl_ctx_st* native = LINTEL_TRY(make_tls_context(options_.tls->certificate, options_.tls->key));
    tls_ = std::make_unique<net::ssl::context>(native);
  }
  error_code error;
  const net::ip::address address = net::ip::make_address(options_.address, error);
  if (error) {
    return fail(ErrorCode::Invalid, "\"" + options_.address + "\" is not an IP address",
                "give an address of this machine, such as 127.0.0.1");
  }
  const tcp::endpoint end(address, options_.port);
  acceptor_.open(end.protocol(), error);
  if (!error) acceptor_.set_option(tcp::acceptor::reuse_address(true), error);
  if (!error) acceptor_.bind(end, error);
  if (!error) acceptor_.listen(net::socket_base::max_listen_connections, error);
  const std::string place = options_.address + ":" + std::to_string(options_.port);
  if (error == net::error::address_in_use) {
    return fail(ErrorCode::Conflict, "another program listens on " + place,
                "stop it, or choose another port with --listen");
  }
  if (error) {
    return fail(ErrorCode::Io, "cannot listen on " + place + ": " + error.message(),
                "choose an address of this machine and a port above 1023");
  }
  port_ = acceptor_.local_endpoint(error).port();
  net::co_spawn(
      acceptor_.get_executor(), [this] { return accept(); }, net::detached);
  for (int i = 0; i < std::max(options_.io_threads, 1); ++i) {
    threads_.emplace_back([this] { context_.run(); });
  }
  return {};
}

net::awaitable<void> BeastListener::accept() {
  net::steady_timer pause(acceptor_.get_executor());
  while (!hub_.stopping) {
    error_code error;
    tcp::socket socket(net::make_strand(context_));
    co_await acceptor_.async_accept(socket, net::redirect_error(net::use_awaitable, error));
    if (hub_.stopping || error == net::error::operation_aborted) break;
    if (error) {  // no descriptors left, or a connection that went at once
      error_code ignored;
      pause.expires_after(Milliseconds(50));
      co_await pause.async_wait(net::redirect_error(net::use_awaitable, ignored));
      continue;
    }
    add_connection(std::move(socket));
  }
}

void BeastListener::add_connection(tcp::socket socket) {
  error_code ignored;
  socket.set_option(tcp::no_delay(true), ignored);
  std::unique_ptr<Line> line;
  if (tls_) {
    line = std::make_unique<LineOver<net::ssl::stream<Tcp>>>(Tcp(std::move(socket)), *tls_);
  } else {
    line = std::make_unique<LineOver<Tcp>>(std::move(socket));
  }
  const auto connection = std::make_shared<Connection>(hub_, std::move(line), tls_ != nullptr);
  {
    const std::lock_guard lock(hub_.mutex);
    if (hub_.connections.size() >= options_.connections || !has_room_for(*connection)) return;
    hub_.connections[connection.get()] = connection;
    ++hub_.of_peer[connection->peer()];
  }
  net::co_spawn(
      connection->executor(), [connection] { return connection->run(); }, net::detached);
}

// One other machine must not take the place of all; under the hub's mutex.
bool BeastListener::has_room_for(const Connection& connection) const {
  const std::string& peer = connection.peer();
  if (is_loopback(peer) || peer == options_.proxy) return true;
  const auto found = hub_.of_peer.find(peer);
  return found == hub_.of_peer.end() || found->second < options_.connections_of_peer;
}

void BeastListener::for_each_connection(bool at_once) {
  std::vector<std::shared_ptr<Connection>> all;
  {
    const std::lock_guard lock(hub_.mutex);
    for (const auto& [key, weak] : hub_.connections) {
      if (auto connection = weak.lock()) all.push_back(std::move(connection));
    }
  }
  for (auto& connection : all) {
    net::post(connection->executor(), [connection, at_once] { connection->begin_stop(at_once); });
  }
}

void BeastListener::stop() {
  if (stopped_) return;
  stopped_ = true;
  hub_.stopping = true;
  net::post(acceptor_.get_executor(), [this] {
    error_code ignored;
    acceptor_.close(ignored);
  });
  for_each_connection(false);
  {
    std::unique_lock lock(hub_.mutex);
    hub_.changed.wait_for(lock, options_.stop_time, [&] { return hub_.connections.empty(); });
  }
  for_each_connection(true);
  threads_.clear();  // the context ends when its last connection has
}

}  // namespace

Result<std::unique_ptr<Listener>> Listener::start(const ServerOptions& options, Service& service) {
  auto listener = std::make_unique<BeastListener>(options, service);
  LINTEL_TRY_VOID(listener->listen());
  return listener;
}

}  // namespace lintel::server
