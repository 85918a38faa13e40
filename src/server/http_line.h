// The bytes of one connection, plain or TLS, behind one face (only for http_*.cpp: Asio inside).
#pragma once

#include <utility>  // before Asio's coroutine headers, which need it and do not include it

#include <boost/asio/any_io_executor.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/redirect_error.hpp>
#include <boost/asio/ssl/context.hpp>
#include <boost/asio/ssl/stream.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <boost/beast/core/basic_stream.hpp>
#include <chrono>
#include <memory>
#include <type_traits>

namespace lintel::server {

namespace net = boost::asio;
using boost::system::error_code;
using Milliseconds = std::chrono::milliseconds;
using Tcp = boost::beast::basic_stream<net::ip::tcp, net::any_io_executor>;

// Every wait ends after `limit` with the error boost::beast::error::timeout.
class Line {
 public:
  virtual ~Line() = default;
  virtual net::awaitable<error_code> open(Milliseconds limit) = 0;
  virtual net::awaitable<std::size_t> read(net::mutable_buffer to, Milliseconds limit,
                                           error_code& error) = 0;
  virtual net::awaitable<error_code> write(net::const_buffer bytes, Milliseconds limit) = 0;
  virtual net::awaitable<void> close(Milliseconds limit) = 0;
  virtual Tcp& tcp() = 0;
};

template <typename Stream>
class LineOver final : public Line {
 public:
  static constexpr bool kTls = !std::is_same_v<Stream, Tcp>;
  template <typename... Arguments>
  explicit LineOver(Arguments&&... arguments) : stream_(std::forward<Arguments>(arguments)...) {}

  Tcp& tcp() override {
    if constexpr (kTls) {
      return stream_.next_layer();
    } else {
      return stream_;
    }
  }
  net::awaitable<error_code> open(Milliseconds limit) override {
    error_code error;
    if constexpr (kTls) {
      tcp().expires_after(limit);
      co_await stream_.async_handshake(net::ssl::stream_base::server,
                                       net::redirect_error(net::use_awaitable, error));
    }
    (void)limit;
    co_return error;
  }
  net::awaitable<std::size_t> read(net::mutable_buffer to, Milliseconds limit,
                                   error_code& error) override {
    tcp().expires_after(limit);
    const std::size_t got =
        co_await stream_.async_read_some(to, net::redirect_error(net::use_awaitable, error));
    co_return got;
  }
  net::awaitable<error_code> write(net::const_buffer bytes, Milliseconds limit) override {
    error_code error;
    tcp().expires_after(limit);
    co_await net::async_write(stream_, bytes, net::redirect_error(net::use_awaitable, error));
    co_return error;
  }
  net::awaitable<void> close(Milliseconds limit) override {
    error_code ignored;
    if constexpr (kTls) {
      tcp().expires_after(limit);
      co_await stream_.async_shutdown(net::redirect_error(net::use_awaitable, ignored));
    }
    (void)limit;
    tcp().socket().shutdown(net::ip::tcp::socket::shutdown_send, ignored);
    co_return;
  }

 private:
  Stream stream_;
};

}  // namespace lintel::server
