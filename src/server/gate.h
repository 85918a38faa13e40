// What the router asks about every request before and after its handler. The accounts give it
// (account_gate in routes.h); a test may give its own.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>

#include "server/http.h"

namespace lintel::server {

// One answered request, for the audit trail.
struct AccessNote {
  const Request& request;
  const app::Caller& caller;
  const Route& route;
  const std::map<std::string, std::string>& path;
  int status = 200;
};

// An answer kept under an Idempotency-Key.
struct KeptAnswer {
  int status = 200;
  std::vector<std::pair<std::string, std::string>> headers;
  std::string body;
};

// Thread-safe, all of them; an empty function is not asked.
struct Gate {
  // From cookie or Authorization. Nobody when the request carries neither; an error (Denied) when
  // it carries one that does not hold: answered with 401 unless the route is public.
  std::function<Result<app::Caller>(const Request&)> authenticate;
  // Is the request's X-Lintel-Token the one of the caller's session? Asked for writes by cookie.
  std::function<bool(const Request&, const app::Caller&)> write_token_holds;
  // What the audit trail needs beyond what the use cases note themselves (app/audit.h); may be
  // empty. Called once for each request that reached its handler, after it, with the status of the
  // answer, for routes that need a permission. When it fails, an answer to a read is not handed
  // out.
  std::function<Result<void>(const AccessNote&)> note;

  // Idempotency-Key (app/idempotency.h): `begin` answers the kept answer of an earlier call, or
  // nothing when this is the first one, which then must end with `finish` (no answer = forget it).
  // Errors: Conflict while the first call runs, Invalid when the key was used for something else.
  std::function<Result<std::optional<KeptAnswer>>(const app::Caller&, const Request&)> begin_once;
  std::function<void(const app::Caller&, const Request&, const std::optional<KeptAnswer>&)>
      finish_once;
};

}  // namespace lintel::server
