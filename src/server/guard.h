// What is asked of every request before anything else looks at it: the host it names, where a write
// comes from, how many there were; and the headers that every answer carries.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <vector>

#include "server/http.h"
#include "server/token_bucket.h"

namespace lintel::server {

struct GuardOptions {
  std::set<std::string> names;  // host names (lower case) under which the server is reached;
                                // "localhost" and addresses need no mention
  int peer_per_minute = 0;      // 0 = no limit; never for loopback
  int caller_per_minute = 0;
  bool limit_routes = true;
};

class Guard {
 public:
  explicit Guard(GuardOptions options) : options_(std::move(options)) {}

  // The answer that refuses the request; nothing = it may go on. A Host that is neither an address
  // nor one of our names is what a rebound DNS name would send (421). A write whose Origin or
  // Sec-Fetch-Site tells of another site is refused (403). Too many: 429 with Retry-After.
  std::optional<Response> refuse(const Request& request);
  std::optional<Response> refuse_route(const Request& request, const Route& route);
  std::optional<Response> refuse_caller(const Request& request, const app::Caller& caller);

 private:
  bool host_is_ours(const std::string& host) const;
  bool comes_from_here(const Request& request) const;

  GuardOptions options_;
  TokenBuckets buckets_;
};

// This machine's own host name, also with ".local".
std::vector<std::string> machine_names();
// Its addresses on all interfaces that are up.
std::vector<std::string> machine_addresses();

// Content-Security-Policy, nosniff, referrer, cross-origin policies, Cache-Control (no-store unless
// the answer says otherwise), Strict-Transport-Security with TLS.
void add_safety_headers(Response& response, const Request& request);

}  // namespace lintel::server
