#include "server/guard.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <unistd.h>

#include "server/request_text.h"

namespace lintel::server {
namespace {

// Scripts, styles and everything else from here alone; no inline script, no plug-ins, no frames.
constexpr const char* kPagePolicy =
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; "
    "media-src 'self' blob:; connect-src 'self'; worker-src 'self'; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
// For what is no page (JSON, pictures, clips): even when it is opened by itself it can do nothing
// but show itself.
constexpr const char* kDataPolicy =
    "default-src 'none'; style-src 'unsafe-inline'; img-src 'self' data:; media-src 'self'; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
// The viewer that a browser puts around a PDF is a page of its own and needs its parts.
constexpr const char* kPdfPolicy = "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

Response too_many(int seconds) {
  Response response =
      problem(429, "Too Many Requests",
              "There were too many requests; try again in " + std::to_string(seconds) + " s.");
  response.headers.emplace_back("retry-after", std::to_string(seconds));
  return response;
}

bool is_write(Method method) {
  return method != Method::Get && method != Method::Head;
}

void add_unless_there(Response& response, const char* name, const char* value) {
  if (response.header(name) == nullptr) response.headers.emplace_back(name, value);
}

}  // namespace

bool Guard::host_is_ours(const std::string& host) const {
  const Result<HostName> parsed = parse_host(host);
  return parsed &&
         (parsed->address || parsed->name == "localhost" || options_.names.count(parsed->name) > 0);
}

bool Guard::comes_from_here(const Request& request) const {
  const std::string site = request.header("sec-fetch-site");
  if (!site.empty() && site != "same-origin" && site != "none") return false;
  const std::string text = request.header("origin");
  if (text.empty()) return true;  // not a browser, or an old one: the token is asked for anyway
  const Result<Origin> origin = parse_origin(text);
  const Result<HostName> host = parse_host(request.header("host"));
  if (!origin || !host) return false;
  const int port = host->port != 0 ? host->port : request.tls ? 443 : 80;
  return origin->scheme == (request.tls ? "https" : "http") && origin->host.name == host->name &&
         origin->host.port == port;
}

std::optional<Response> Guard::refuse(const Request& request) {
  if (!host_is_ours(request.header("host"))) {
    return problem(421, "Misdirected Request",
                   "This server is not reached under that host name; start it with --name to add "
                   "one.");
  }
  if (is_write(request.method) && !comes_from_here(request)) {
    return problem(403, "Forbidden", "A change must come from Lintel's own pages.");
  }
  if (!request.loopback && options_.peer_per_minute > 0) {
    const int wait = buckets_.take("peer " + request.peer, options_.peer_per_minute);
    if (wait > 0) return too_many(wait);
  }
  return std::nullopt;
}

std::optional<Response> Guard::refuse_route(const Request& request, const Route& route) {
  if (!options_.limit_routes || route.per_minute <= 0) return std::nullopt;
  const int wait = buckets_.take("route " + route.operation + " " + request.peer, route.per_minute);
  if (wait > 0) return too_many(wait);
  return std::nullopt;
}

std::optional<Response> Guard::refuse_caller(const Request& request, const app::Caller& caller) {
  if (request.loopback || options_.caller_per_minute <= 0 || !caller.signed_in()) {
    return std::nullopt;
  }
  const int wait = buckets_.take("caller " + caller.person, options_.caller_per_minute);
  if (wait > 0) return too_many(wait);
  return std::nullopt;
}

std::vector<std::string> machine_names() {
  char name[256] = {};
  if (gethostname(name, sizeof name - 1) != 0 || name[0] == '\0') return {};
  const std::string full = lower(name);
  const std::string bare = full.substr(0, full.find('.'));
  std::vector<std::string> names{full};
  if (bare != full) names.push_back(bare);
  names.push_back(bare + ".local");
  return names;
}

std::vector<std::string> machine_addresses() {
  std::vector<std::string> out;
  ifaddrs* list = nullptr;
  if (getifaddrs(&list) != 0) return out;
  for (const ifaddrs* one = list; one != nullptr; one = one->ifa_next) {
    if (one->ifa_addr == nullptr || (one->ifa_flags & IFF_UP) == 0) continue;
    char text[INET6_ADDRSTRLEN] = {};
    const void* bytes = nullptr;
    if (one->ifa_addr->sa_family == AF_INET) {
      bytes = &reinterpret_cast<const sockaddr_in*>(one->ifa_addr)->sin_addr;
    } else if (one->ifa_addr->sa_family == AF_INET6) {
      const auto* address = reinterpret_cast<const sockaddr_in6*>(one->ifa_addr);
      if (IN6_IS_ADDR_LINKLOCAL(&address->sin6_addr)) continue;
      bytes = &address->sin6_addr;
    }
    if (bytes != nullptr &&
        inet_ntop(one->ifa_addr->sa_family, bytes, text, sizeof text) != nullptr) {
      out.emplace_back(text);
    }
  }
  freeifaddrs(list);
  return out;
}

void add_safety_headers(Response& response, const Request& request) {
  const std::string* type = response.header("content-type");
  const bool page = type != nullptr && type->rfind("text/html", 0) == 0;
  // A worker lives by the policy of its own script.
  const bool script = type != nullptr && type->find("javascript") != std::string::npos;
  const bool pdf = type != nullptr && type->rfind("application/pdf", 0) == 0;
  add_unless_there(response, "content-security-policy",
                   page || script ? kPagePolicy
                   : pdf          ? kPdfPolicy
                                  : kDataPolicy);
  add_unless_there(response, "x-content-type-options", "nosniff");
  add_unless_there(response, "x-frame-options", "DENY");
  add_unless_there(response, "referrer-policy", "no-referrer");
  add_unless_there(response, "cross-origin-opener-policy", "same-origin");
  add_unless_there(response, "cross-origin-resource-policy", "same-origin");
  add_unless_there(response, "cross-origin-embedder-policy", "require-corp");
  if (page) {
    add_unless_there(response, "permissions-policy",
                     "camera=(self), microphone=(), geolocation=(), payment=(), usb=()");
  }
  add_unless_there(response, "cache-control", "no-store");
  if (request.tls) add_unless_there(response, "strict-transport-security", "max-age=31536000");
}

}  // namespace lintel::server
