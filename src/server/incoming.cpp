#include "server/incoming.h"

#include <set>

#include "server/request_text.h"

namespace lintel::server {
namespace {

// Two of these could be understood in two ways.
bool is_single(const std::string& name) {
  static const std::set<std::string> kSingle = {
      "host",     "authorization",   "content-type", "content-length", "origin", "x-lintel-token",
      "if-match", "idempotency-key", "range",        "if-range",       "expect", "content-range"};
  return kSingle.count(name) > 0;
}

// "http://name/path" -> "/path", and the name takes the place of Host (RFC 9112, section 3.2.2).
std::string origin_form(const std::string& target, Request& request) {
  for (const std::string_view scheme : {"http://", "https://"}) {
    if (lower(target.substr(0, scheme.size())) != scheme) continue;
    const std::size_t end = target.find_first_of("/?", scheme.size());
    request.headers["host"] = target.substr(scheme.size(), end - scheme.size());
    const std::string rest = end == std::string::npos ? "/" : target.substr(end);
    return rest.front() == '/' ? rest : "/" + rest;
  }
  return target;
}

}  // namespace

Response bad_request(std::string detail) {
  return problem(400, "Bad Request", std::move(detail));
}

bool add_header(Request& request, const std::string& name, const std::string& value) {
  const auto [place, fresh] = request.headers.emplace(name, value);
  if (fresh) return true;
  if (is_single(name)) return false;
  place->second += (name == "cookie" ? "; " : ", ") + value;
  return true;
}

std::optional<Response> complete(Request& request, const std::string& target,
                                 const std::string& proxy) {
  if (request.headers.count("host") == 0) return bad_request("The header Host is missing.");
  Result<Target> parsed = parse_target(origin_form(target, request));
  if (!parsed) return bad_request("The target does not hold: " + parsed.error().message + ".");
  request.path = std::move(parsed->path);
  request.query = std::move(parsed->query);
  request.cookies = parse_cookies(request.header("cookie"));
  const std::string forwarded = request.header("x-forwarded-for");
  const bool through_proxy = !proxy.empty() && request.peer == proxy;
  // What came through a proxy came from elsewhere, whoever the proxy is.
  request.loopback = is_loopback(request.peer) && !through_proxy && forwarded.empty() &&
                     request.headers.count("forwarded") == 0;
  if (through_proxy) {
    if (std::string other = last_forwarded(forwarded); !other.empty()) request.peer = other;
    request.tls = request.tls || lower(request.header("x-forwarded-proto")) == "https";
  }
  return std::nullopt;
}

}  // namespace lintel::server
