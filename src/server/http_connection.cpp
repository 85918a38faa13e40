#include "server/http_connection.h"

#include <sys/socket.h>
#include <algorithm>
#include <cerrno>

#include "server/incoming.h"
#include "server/request_text.h"

namespace lintel::server {
namespace {

namespace http = boost::beast::http;
using Clock = std::chrono::steady_clock;

constexpr std::size_t kReadBytes = 32 * 1024;
constexpr std::size_t kPieceBytes = 64 * 1024;
constexpr std::size_t kFileBytes = 256 * 1024;
// Bodies above this are read only once it is known that the caller may send them.
constexpr std::size_t kLargeBody = 64 * 1024;
constexpr Milliseconds kPeek{500};
constexpr auto kComment = std::chrono::seconds(15);

Milliseconds until(Clock::time_point deadline) {
  return std::max(Milliseconds(1),
                  std::chrono::duration_cast<Milliseconds>(deadline - Clock::now()));
}

std::string address_text(const net::ip::tcp::socket& socket) {
  error_code error;
  const auto end = socket.remote_endpoint(error);
  if (error) return {};
  const net::ip::address address = end.address();
  if (address.is_v6() && address.to_v6().is_v4_mapped()) {
    return net::ip::make_address_v4(net::ip::v4_mapped, address.to_v6()).to_string();
  }
  return address.to_string();
}

std::optional<Method> method_from(http::verb verb) {
  switch (verb) {
    case http::verb::get:
      return Method::Get;
    case http::verb::head:
      return Method::Head;
    case http::verb::post:
      return Method::Post;
    case http::verb::put:
      return Method::Put;
    case http::verb::patch:
      return Method::Patch;
    case http::verb::delete_:
      return Method::Delete;
    default:
      return std::nullopt;
  }
}

Response too_busy() {
  return problem(503, "Service Unavailable", "The server is busy; try again in a second.")
      .with("retry-after", "1");
}

}  // namespace

Connection::Connection(Hub& hub, std::unique_ptr<Line> line, bool tls)
    : hub_(hub), line_(std::move(line)), tls_(tls), read_buffer_(kReadBytes, '\0') {
  peer_ = address_text(line_->tcp().socket());
}

Connection::~Connection() {
  const std::lock_guard lock(hub_.mutex);
  if (hub_.connections.erase(this) > 0) {
    const auto mine = hub_.of_peer.find(peer_);
    if (mine != hub_.of_peer.end() && --mine->second == 0) hub_.of_peer.erase(mine);
  }
  hub_.changed.notify_all();
}

void Connection::begin_stop(bool at_once) {
  stop_.request_stop();
  if (idle_ || at_once) line_->tcp().close();
}

net::awaitable<void> Connection::run() {
  try {
    const error_code error = co_await line_->open(hub_.options.header_time);
    if (!error) {
      bool more = true;
      while (more) more = co_await one_request();
      const Milliseconds limit(1000);
      co_await line_->close(limit);
    }
  } catch (const std::exception&) {
    hub_.service.log("a connection ended by an exception");
  }
}

template <typename Done>
Connection::Step Connection::feed(Parser& parser, const Done& done, error_code& error) {
  while (!done()) {
    const std::size_t used = parser.put(net::buffer(in_), error);
    in_.erase(0, used);
    if (error == http::error::need_more) {
      error = {};
      return Step::More;
    }
    if (error) return Step::Bad;
    if (used == 0) return Step::More;
  }
  return Step::Done;
}

net::awaitable<bool> Connection::read_more(Milliseconds limit, error_code& error) {
  const net::mutable_buffer buffer = net::buffer(read_buffer_);
  const std::size_t got = co_await line_->read(buffer, limit, error);
  in_.append(read_buffer_, 0, got);
  co_return !error && got > 0;
}

net::awaitable<bool> Connection::read_header(Parser& parser) {
  error_code error;
  if (in_.empty()) {
    const bool first = co_await read_more(hub_.options.idle_time, error);
    if (!first) co_return false;
  }
  idle_ = false;
  const auto deadline = Clock::now() + hub_.options.header_time;
  while (true) {
    const Step step = feed(
        parser, [&] { return parser.is_header_done(); }, error);
    if (step == Step::Done) co_return true;
    Response refusal = bad_request("The request is not valid HTTP.");
    bool more = false;
    if (step == Step::More && Clock::now() < deadline) {
      more = co_await read_more(until(deadline), error);
    }
    if (more) continue;
    if (step == Step::More) co_return false;  // too late (the line is closed then), or gone
    if (error == http::error::header_limit || error == http::error::buffer_overflow) {
      refusal = problem(431, "Request Header Fields Too Large", "The header is too large.");
    }
    const Request nothing;
    co_await refuse(nothing, std::move(refusal));
    co_return false;
  }
}

std::optional<Response> Connection::fill(Request& request, const Parser& parser) const {
  const auto& message = parser.get();
  if (message.version() != 11 && message.version() != 10) {
    return problem(505, "HTTP Version Not Supported", "Send HTTP/1.1.");
  }
  request.peer = peer_;
  request.tls = tls_;
  for (const auto& field : message) {
    const std::string_view name(field.name_string().data(), field.name_string().size());
    const std::string value(field.value().data(), field.value().size());
    if (!add_header(request, lower(name), value)) {
      return bad_request("The header " + lower(name) + " is there twice.");
    }
  }
  const std::optional<Method> method = method_from(message.method());
  if (!method) {
    const bool known = message.method() != http::verb::unknown;
    if (!known) return problem(501, "Not Implemented", "That method is not known here.");
    return problem(405, "Method Not Allowed", "That method is not for this server.")
        .with("allow", "GET, HEAD, POST, PUT, PATCH, DELETE");
  }
  request.method = *method;
  const bool chunked_alone = lower(request.header("transfer-encoding")) == "chunked";
  if (request.headers.count("transfer-encoding") > 0 &&
      (!chunked_alone || message.version() < 11)) {
    return problem(501, "Not Implemented", "Transfer-Encoding may be chunked alone.");
  }
  const std::string target(message.target().data(), message.target().size());
  return complete(request, target, hub_.options.proxy);
}

net::awaitable<bool> Connection::read_body(Parser& parser, std::size_t limit) {
  error_code error;
  parser.body_limit(limit);
  const auto length = parser.content_length();
  const auto bytes = static_cast<double>(length ? *length : limit);
  const double rate = static_cast<double>(std::max<std::size_t>(hub_.options.slowest_body, 1));
  const auto deadline = Clock::now() + hub_.options.stall_time +
                        Milliseconds(static_cast<std::int64_t>(1000.0 * bytes / rate));
  while (true) {
    const Step step = feed(
        parser, [&] { return parser.is_done(); }, error);
    if (step == Step::Done) co_return true;
    Response refusal = bad_request("The body is not valid HTTP.");
    bool more = false;
    if (step == Step::More && Clock::now() < deadline) {
      more = co_await read_more(std::min(hub_.options.stall_time, until(deadline)), error);
    }
    if (more) continue;
    if (step == Step::More) co_return false;
    if (error == http::error::body_limit || error == http::error::buffer_overflow) {
      refusal = problem(413, "Content Too Large",
                        "The body may have " + std::to_string(limit) + " bytes.");
    }
    const Request nothing;
    co_await refuse(nothing, std::move(refusal));
    co_return false;
  }
}

net::awaitable<bool> Connection::take_body(Parser& parser, Request& request, std::size_t limit) {
  const std::string expect = lower(request.header("expect"));
  if (!expect.empty() && expect != "100-continue") {
    Response refusal = problem(417, "Expectation Failed", "Only 100-continue can be expected.");
    co_await refuse(request, std::move(refusal));
    co_return false;
  }
  if (!expect.empty() && in_.empty() && http_1_1_) {
    const bool sent = co_await send_bytes("HTTP/1.1 100 Continue\r\n\r\n");
    if (!sent) co_return false;
  }
  const bool whole = co_await read_body(parser, limit);
  if (whole) request.body = std::move(parser.get().body());
  co_return whole;
}

// Holds a part of the room for bodies while a request lives.
class BodyRoom {
 public:
  BodyRoom(Hub& hub, std::size_t bytes) : hub_(hub), bytes_(bytes) {
    got_ = hub_.body_bytes.fetch_add(bytes_) + bytes_ <= hub_.options.bodies_bytes;
  }
  ~BodyRoom() { hub_.body_bytes.fetch_sub(bytes_); }
  BodyRoom(const BodyRoom&) = delete;
  BodyRoom& operator=(const BodyRoom&) = delete;
  bool got() const { return got_; }

 private:
  Hub& hub_;
  std::size_t bytes_;
  bool got_ = false;
};

// What speaks against the request before its body is read.
std::optional<Response> Connection::check(Request& request, const Parser& parser,
                                          Expected& expected) {
  std::optional<Response> refusal = fill(request, parser);
  if (!refusal) refusal = hub_.service.refuse(request);
  const auto length = parser.content_length();
  expected.has_body = parser.chunked() || (length && *length > 0);
  if (refusal) return refusal;
  expected.limit = hub_.service.body_limit(request);
  if (length && *length > expected.limit) {
    return problem(413, "Content Too Large",
                   "The body may have " + std::to_string(expected.limit) + " bytes.");
  }
  if (expected.has_body) expected.held = length ? *length : expected.limit;
  return std::nullopt;
}

net::awaitable<bool> Connection::one_request() {
  idle_ = in_.empty();
  if (hub_.stopping) co_return false;
  Parser parser;
  parser.eager(false);
  parser.header_limit(static_cast<std::uint32_t>(hub_.options.header_bytes));
  parser.body_limit(
      UINT64_MAX);  // the route's own, once it is known (none would refuse every body)
  const bool has_header = co_await read_header(parser);
  if (!has_header) co_return false;
  http_1_1_ = parser.get().version() >= 11;

  Request request;
  Expected expected;
  std::optional<Response> refusal = check(request, parser, expected);
  const BodyRoom room(hub_, expected.held);
  if (!refusal && !room.got()) refusal = too_busy();
  if (refusal && expected.has_body) {
    co_await refuse(request, std::move(*refusal));
    co_return false;
  }
  const bool keep = parser.get().keep_alive();
  if (refusal) {
    Outgoing outgoing = make_outgoing(request, std::move(*refusal));
    const bool sent = co_await send(std::move(outgoing), keep);
    co_return sent&& keep;
  }
  const bool sent = co_await answer(parser, request, expected);
  co_return sent;
}

net::awaitable<bool> Connection::answer(Parser& parser, Request& request,
                                        const Expected& expected) {
  std::optional<Admission> admission;
  if (expected.held > kLargeBody) {
    std::function<Admission()> admit = [this, &request] { return hub_.service.admit(request); };
    admission = co_await on_pool<Admission>(std::move(admit), false);
    if (!admission || !admission->admitted) {
      Response refusal = admission ? std::move(admission->refusal) : too_busy();
      co_await refuse(request, std::move(refusal));
      co_return false;
    }
  }
  if (expected.has_body) {
    const bool whole = co_await take_body(parser, request, expected.limit);
    if (!whole) co_return false;
  }
  std::function<Outgoing()> work = [this, &admission, &request] {
    if (!admission) admission = hub_.service.admit(request);
    if (!admission->admitted) return make_outgoing(request, std::move(admission->refusal));
    return make_outgoing(request,
                         hub_.service.answer(request, *admission->admitted, stop_.get_token()));
  };
  std::optional<Outgoing> outgoing = co_await on_pool<Outgoing>(std::move(work), false);
  if (!outgoing) outgoing = make_outgoing(request, too_busy());
  const bool keep = parser.get().keep_alive() && !hub_.stopping;
  const bool sent = co_await send(std::move(*outgoing), keep);
  co_return sent&& keep;
}

// For requests whose rest is not read: answer, then close without cutting the answer off.
net::awaitable<bool> Connection::refuse(const Request& request, Response response) {
  Outgoing outgoing = make_outgoing(request, std::move(response));
  const bool sent = co_await send(std::move(outgoing), false);
  if (sent) co_await drain();
  co_return false;
}

// Takes what the other side still sends, for a moment: closing at once would reset the connection
// and could take the answer away.
net::awaitable<void> Connection::drain() {
  error_code error;
  line_->tcp().socket().shutdown(net::ip::tcp::socket::shutdown_send, error);
  const auto deadline = Clock::now() + std::chrono::seconds(2);
  std::size_t taken = 0;
  bool more = true;
  in_.clear();
  while (more && taken < (std::size_t{4} << 20) && Clock::now() < deadline) {
    more = co_await read_more(until(deadline), error);
    taken += in_.size();
    in_.clear();
  }
}

net::awaitable<bool> Connection::send_bytes(std::string_view bytes) {
  while (!bytes.empty()) {
    const std::string_view piece = bytes.substr(0, kPieceBytes);
    const net::const_buffer buffer(piece.data(), piece.size());
    const error_code error = co_await line_->write(buffer, hub_.options.stall_time);
    if (error) co_return false;
    bytes.remove_prefix(piece.size());
  }
  co_return true;
}

net::awaitable<bool> Connection::send(Outgoing outgoing, bool keep_alive) {
  const bool bare = outgoing.head || outgoing.status == 304 || outgoing.status == 204;
  const bool chunked = outgoing.events && http_1_1_;
  if (outgoing.events && !chunked) keep_alive = false;
  if (chunked) outgoing.headers.emplace_back("transfer-encoding", "chunked");
  std::string head = head_of(outgoing, keep_alive && !outgoing.close);
  const bool together =
      !bare && !outgoing.events && !outgoing.file.is_open() && outgoing.body.size() < kPieceBytes;
  if (together) head += outgoing.body;
  bool sent = co_await send_bytes(head);
  if (!sent || bare || together) co_return sent;
  if (outgoing.events) {
    sent = co_await send_events(*outgoing.events, chunked);
  } else if (outgoing.file.is_open()) {
    sent = co_await send_file(outgoing);
  } else {
    sent = co_await send_bytes(outgoing.body);
  }
  co_return sent && !outgoing.close;
}

net::awaitable<bool> Connection::send_file(const Outgoing& outgoing) {
  std::uint64_t offset = outgoing.offset;
  std::uint64_t left = outgoing.length;
  while (left > 0) {
    const std::size_t want = static_cast<std::size_t>(std::min<std::uint64_t>(left, kFileBytes));
    std::function<std::optional<std::string>()> work = [&outgoing, offset, want] {
      return outgoing.file.read(offset, want);
    };
    const auto piece = co_await on_pool<std::optional<std::string>>(std::move(work), true);
    // A file that became shorter: the length is told already, so the connection ends.
    if (!piece || !*piece || (*piece)->empty()) co_return false;
    const bool sent = co_await send_bytes(**piece);
    if (!sent) co_return false;
    offset += (*piece)->size();
    left -= (*piece)->size();
  }
  co_return true;
}

net::awaitable<bool> Connection::send_piece(std::string text, bool chunked) {
  if (chunked) {
    char size[24];
    std::snprintf(size, sizeof size, "%zx\r\n", text.size());
    text = size + text + "\r\n";
  }
  const bool sent = co_await send_bytes(text);
  co_return sent;
}

net::awaitable<bool> Connection::send_events(const EventSource& source, bool chunked) {
  std::string last_id;
  auto quiet_since = Clock::now();
  net::steady_timer timer(executor());
  // The first bytes at once: the browser then knows that the stream stands.
  std::string opening = ": open\n\n";
  bool open = co_await send_piece(std::move(opening), chunked);
  while (open && !hub_.stopping && !stop_.stop_requested()) {
    std::function<EventBatch()> work = [&source, &last_id] { return source.next(last_id); };
    const std::optional<EventBatch> batch = co_await on_pool<EventBatch>(std::move(work), true);
    if (!batch) co_return false;
    std::string text;
    for (const Event& event : batch->events) {
      text += event_text(event);
      if (!event.id.empty()) last_id = event.id;
    }
    if (text.empty() && Clock::now() - quiet_since > kComment) text = ": still here\n\n";
    if (!text.empty()) {
      quiet_since = Clock::now();
      open = co_await send_piece(std::move(text), chunked);
    }
    if (batch->last || !open) break;
    error_code ignored;
    timer.expires_after(Milliseconds(std::max(source.interval_ms, 10)));
    co_await timer.async_wait(net::redirect_error(net::use_awaitable, ignored));
    if (other_side_has_gone()) co_return false;
  }
  if (open && chunked) open = co_await send_bytes("0\r\n\r\n");
  co_return open&& chunked;
}

bool Connection::other_side_has_gone() {
  char byte = 0;
  const ssize_t got =
      ::recv(line_->tcp().socket().native_handle(), &byte, 1, MSG_PEEK | MSG_DONTWAIT);
  return got == 0 || (got < 0 && errno != EAGAIN && errno != EWOULDBLOCK && errno != EINTR);
}

// (g++ 12 destroys some temporaries inside a co_await expression twice: what an awaited function is
// given has a name in all of this file.)
// Runs the work on the pool and waits without a thread. Looks now and then whether anybody still
// waits for the answer. Nothing = the queue is full, or the work threw.
template <typename R>
net::awaitable<std::optional<R>> Connection::on_pool(std::function<R()> work, bool always) {
  struct State {
    explicit State(net::any_io_executor executor) : timer(std::move(executor)) {}
    net::steady_timer timer;
    std::optional<R> value;
    bool done = false;  // touched on the connection's strand alone
  };
  const auto state = std::make_shared<State>(executor());
  auto job = [state, work = std::move(work), where = executor()] {
    try {
      state->value.emplace(work());
    } catch (const std::exception&) {
      state->value.reset();
    }
    net::post(where, [state] {
      state->done = true;
      state->timer.cancel();
    });
  };
  if (always) {
    hub_.pool.post(std::move(job));
  } else if (!hub_.pool.try_post(std::move(job))) {
    co_return std::nullopt;
  }
  while (!state->done) {
    error_code ignored;
    state->timer.expires_after(kPeek);
    co_await state->timer.async_wait(net::redirect_error(net::use_awaitable, ignored));
    if (!state->done && other_side_has_gone()) stop_.request_stop();
  }
  co_return std::move(state->value);
}

}  // namespace lintel::server
