// The texts of a request: target, cookies, host, origin, ranges, lists of tags and codings, paths
// against patterns. The first byte says which; what comes out must keep its promises.
#include <string>

#include "fuzz_input.h"
#include "server/byte_range.h"
#include "server/incoming.h"
#include "server/outgoing.h"
#include "server/request_text.h"
#include "server/router.h"

namespace {

using namespace lintel::server;

void check_target(const std::string& text) {
  const auto target = parse_target(text);
  if (!target) return;
  require(target->path.front() == '/' && is_utf8(target->path));
  require(target->path.find('\0') == std::string::npos &&
          target->path.find('\\') == std::string::npos);
  require((target->path + "/").find("/../") == std::string::npos);
  require((target->path + "/").find("/./") == std::string::npos);
  require(target->path.find("//") == std::string::npos);
  for (const auto& [name, value] : target->query) require(is_utf8(name) && is_utf8(value));
  static const Router router = [] {
    std::vector<Route> routes;
    for (const char* pattern : {"/a/{id}", "/a/list", "/a/{id}/b/{name}", "/"}) {
      Route route;
      route.pattern = route.operation = pattern;
      route.handler = [](const Call&) -> lintel::Result<Response> { return Response::empty(); };
      routes.push_back(std::move(route));
    }
    return Router::create(std::move(routes)).value();
  }();
  const auto match = router.find(Method::Get, target->path);
  for (const auto& [name, value] : match.path) require(value.find('/') == std::string::npos);
}

// Two lines: the target and X-Forwarded-For.
void check_incoming(const std::string& text) {
  const std::size_t end = text.find('\n');
  Request request;
  request.peer = "127.0.0.1";
  add_header(request, "host", "127.0.0.1:8421");
  if (end != std::string::npos) add_header(request, "x-forwarded-for", text.substr(end + 1));
  if (complete(request, text.substr(0, end), "127.0.0.1")) return;
  require(!request.path.empty() && request.path.front() == '/' && !request.loopback);
  require(is_ip_address(request.peer));
}

void check_range(const std::string& text) {
  for (const std::uint64_t size :
       {std::uint64_t{0}, std::uint64_t{1}, std::uint64_t{10'000}, UINT64_MAX}) {
    const RangeChoice choice = choose_range(text, size);
    if (choice.answer != RangeAnswer::Part) continue;
    require(choice.range.first <= choice.range.last && choice.range.last < size);
  }
  (void)if_range_holds(text, "\"tag\"", "Sun, 06 Nov 1994 08:49:37 GMT");
}

void check_lists(const std::string& text) {
  for (const double weight : {accept_weight(text, "text/csv"), encoding_weight(text, "br")}) {
    require(weight >= 0.0 && weight <= 1.0);
  }
  (void)names_tag(text, "\"1\"");
  const std::string address = last_forwarded(text);
  require(address.empty() || is_ip_address(address));
}

// Whatever a handler puts into a header or an event, it cannot end the line.
void check_written(const std::string& text) {
  Outgoing outgoing;
  outgoing.headers = {{"x-name", text}};
  const std::string head = head_of(outgoing, true);
  require(head.find("\r\n\r\n") == head.size() - 4);
  const std::string event = event_text({text, text, text});
  require(event.find("\n\n") == event.size() - 2);
  require(event.find('\r') == std::string::npos);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
  switch (data[0] % 7) {
    case 0:
      check_target(text);
      break;
    case 1:
      check_range(text);
      break;
    case 2:
      check_lists(text);
      break;
    case 3:
      for (const auto& [name, value] : parse_cookies(text)) require(!name.empty());
      break;
    case 4:
      if (const auto host = parse_host(text)) require(!host->name.empty() && host->port >= 0);
      (void)parse_origin(text);
      break;
    case 5:
      check_written(text);
      break;
    default:
      check_incoming(text);
  }
  return 0;
}
