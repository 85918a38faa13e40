// One connection: requests in, answers out, until either side has had enough (only for http_*.cpp).
#pragma once

#include "server/http_line.h"

#include <atomic>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/beast/http/parser.hpp>
#include <boost/beast/http/string_body.hpp>
#include <condition_variable>
#include <functional>
#include <map>
#include <mutex>
#include <optional>
#include <stop_token>
#include <string>

#include "server/server.h"
#include "server/service.h"
#include "server/work_pool.h"

namespace lintel::server {

class Connection;

// What all connections share.
struct Hub {
  const ServerOptions& options;
  Service& service;
  WorkPool& pool;
  std::atomic<bool> stopping{false};
  std::atomic<std::size_t> body_bytes{0};  // of all bodies being received or held

  std::mutex mutex;
  std::condition_variable changed;
  std::map<Connection*, std::weak_ptr<Connection>> connections;
  std::map<std::string, std::size_t> of_peer;  // how many of them by address
};

class Connection : public std::enable_shared_from_this<Connection> {
 public:
  Connection(Hub& hub, std::unique_ptr<Line> line, bool tls);
  ~Connection();

  net::awaitable<void> run();
  // On the connection's own strand: ends it when it is idle, asks what runs to stop. `at_once` ends
  // it in any case.
  void begin_stop(bool at_once);
  const std::string& peer() const { return peer_; }
  net::any_io_executor executor() { return line_->tcp().get_executor(); }

 private:
  using Parser = boost::beast::http::request_parser<boost::beast::http::string_body>;
  enum class Step { Done, More, Bad };

  template <typename Done>
  Step feed(Parser& parser, const Done& done, error_code& error);
  net::awaitable<bool> read_more(Milliseconds limit, error_code& error);
  // What is known of a body before it comes.
  struct Expected {
    bool has_body = false;
    std::size_t limit = 0;  // of the route
    std::size_t held = 0;   // at most
  };
  std::optional<Response> check(Request& request, const Parser& parser, Expected& expected);
  net::awaitable<bool> one_request();
  net::awaitable<bool> answer(Parser& parser, Request& request, const Expected& expected);
  net::awaitable<bool> read_header(Parser& parser);
  net::awaitable<bool> read_body(Parser& parser, std::size_t limit);
  net::awaitable<bool> take_body(Parser& parser, Request& request, std::size_t limit);
  net::awaitable<bool> refuse(const Request& request, Response response);
  net::awaitable<bool> send(Outgoing outgoing, bool keep_alive);
  net::awaitable<bool> send_bytes(std::string_view bytes);
  net::awaitable<bool> send_file(const Outgoing& outgoing);
  net::awaitable<bool> send_events(const EventSource& source, bool chunked);
  net::awaitable<bool> send_piece(std::string text, bool chunked);
  net::awaitable<void> drain();
  template <typename R>
  net::awaitable<std::optional<R>> on_pool(std::function<R()> work, bool always);
  bool other_side_has_gone();
  std::optional<Response> fill(Request& request, const Parser& parser) const;

  Hub& hub_;
  std::unique_ptr<Line> line_;
  bool tls_;
  std::string peer_;
  std::string in_;  // read, not parsed yet
  std::string read_buffer_;
  std::stop_source stop_;
  bool idle_ = true;
  bool http_1_1_ = true;
};

}  // namespace lintel::server
