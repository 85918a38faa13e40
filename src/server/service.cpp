#include "server/service.h"

#include <exception>
#include <typeinfo>

#include "server/request_text.h"
#include "server/route_tools.h"

namespace lintel::server {
namespace {

bool is_read(Method method) {
  return method == Method::Get || method == Method::Head;
}

bool is_api(const std::string& path) {
  return path == "/api" || path.rfind("/api/", 0) == 0;
}

Response sign_in_first(const Error& error) {
  return problem(error, 401, "sign in").with("www-authenticate", "Bearer realm=\"lintel\"");
}

// An Idempotency-Key: 1 to 255 visible ASCII characters.
bool is_key(const std::string& key) {
  if (key.empty() || key.size() > 255) return false;
  for (const char c : key) {
    if (c < 0x21 || c > 0x7e) return false;
  }
  return true;
}

Response from_error(const Error& error, const Request& request, const app::Caller& caller) {
  if (error.code == ErrorCode::Denied && !caller.signed_in()) return sign_in_first(error);
  if (error.code == ErrorCode::Conflict && error.place.field != kNeedsIfMatch &&
      !request.header("if-match").empty()) {
    return problem(error, 412, "the version is no longer the newest");
  }
  return problem(error);
}

}  // namespace

Service::Service(Router router, Gate gate, StaticFiles files, GuardOptions guard,
                 std::function<void(const std::string&)> log)
    : router_(std::move(router)),
      gate_(std::move(gate)),
      files_(std::move(files)),
      guard_(std::move(guard)),
      log_(std::move(log)) {}

void Service::log(const std::string& line) const {
  if (log_) log_(line);
}

std::optional<Response> Service::refuse(const Request& request) {
  if (std::optional<Response> refusal = guard_.refuse(request)) return refusal;
  const Router::Match match = router_.find(request.method, request.path);
  if (match.route != nullptr) return guard_.refuse_route(request, *match.route);
  if (!match.allow.empty()) {
    return problem(405, "Method Not Allowed", "This address answers " + match.allow + ".")
        .with("allow", match.allow);
  }
  if (is_api(request.path)) return problem(404, "Not Found", "There is no such address.");
  if (!is_read(request.method)) {
    return problem(405, "Method Not Allowed", "This address answers GET, HEAD.")
        .with("allow", "GET, HEAD");
  }
  return std::nullopt;
}

std::size_t Service::body_limit(const Request& request) const {
  const Router::Match match = router_.find(request.method, request.path);
  if (match.route == nullptr || is_read(request.method)) return 0;
  return match.route->body_limit;
}

Admission Service::admit(const Request& request) {
  Admission out;
  Admitted admitted;
  Router::Match match = router_.find(request.method, request.path);
  admitted.route = match.route;
  admitted.path = std::move(match.path);
  if (admitted.route == nullptr) {
    out.admitted = std::move(admitted);
    return out;
  }
  const app::Permission needed = admitted.route->permission;
  if (gate_.authenticate) {
    Result<app::Caller> caller = gate_.authenticate(request);
    if (caller) {
      admitted.caller = std::move(*caller);
    } else if (needed != app::Permission::None) {
      out.refusal = from_error(caller.error(), request, app::Caller::nobody());
      return out;
    }
  }
  if (needed != app::Permission::None) {
    if (const Result<void> allowed = app::require(admitted.caller, needed); !allowed) {
      out.refusal = from_error(allowed.error(), request, admitted.caller);
      return out;
    }
    // A cookie comes along by itself, the token only from our own pages.
    const bool by_cookie = admitted.caller.signed_in() && !admitted.caller.by_token;
    if (!is_read(request.method) && by_cookie && gate_.write_token_holds &&
        !gate_.write_token_holds(request, admitted.caller)) {
      out.refusal = problem(403, "Forbidden",
                            "A change needs the header X-Lintel-Token with the token that GET "
                            "/api/v1/session answers.");
      return out;
    }
  }
  if (std::optional<Response> refusal = guard_.refuse_caller(request, admitted.caller)) {
    out.refusal = std::move(*refusal);
    return out;
  }
  out.admitted = std::move(admitted);
  return out;
}

Response Service::run_handler(const Call& call, const Route& route) {
  try {
    Result<Response> result = route.handler(call);
    if (result) return std::move(*result);
    const Error& error = result.error();
    if (error.code == ErrorCode::Internal || error.code == ErrorCode::Io) {
      log(route.operation + ": " + std::string(error_code_name(error.code)) + ": " + error.message);
    }
    return from_error(error, call.request, call.caller);
  } catch (const std::exception& fault) {
    // The text of an exception may hold what the request held; its type does not.
    log(route.operation + ": exception " + typeid(fault).name());
    return problem(Error{ErrorCode::Internal, "exception", {}, {}, {}});
  }
}

Response Service::answer_once(const Call& call, const Route& route) {
  if (!is_key(call.request.header("idempotency-key"))) {
    return problem(Error{ErrorCode::Invalid,
                         "is not 1 to 255 visible ASCII characters",
                         {"", 0, 0, "Idempotency-Key", -1},
                         "send a random UUID",
                         {}});
  }
  Result<std::optional<KeptAnswer>> kept = gate_.begin_once(call.caller, call.request);
  if (!kept) return problem(kept.error());
  if (kept->has_value()) {
    KeptAnswer& answer = **kept;
    return Response{answer.status, std::move(answer.headers), std::move(answer.body)}.with(
        "idempotency-replayed", "true");
  }
  Response response = run_handler(call, route);
  const std::string* body = std::get_if<std::string>(&response.body);
  // What failed is not kept: the same key may try again.
  std::optional<KeptAnswer> answer;
  if (response.status < 300 && body != nullptr) {
    answer = KeptAnswer{response.status, response.headers, *body};
  }
  gate_.finish_once(call.caller, call.request, answer);
  return response;
}

Response Service::answer(const Request& request, const Admitted& admitted, std::stop_token stop) {
  if (admitted.route == nullptr) {
    std::optional<Response> file = files_.find(request);
    if (file) return std::move(*file);
    return problem(404, "Not Found", "There is no such address.");
  }
  const Route& route = *admitted.route;
  const Call call{request, admitted.caller, admitted.path, WorkContext{std::move(stop), {}}};
  const bool once = request.method == Method::Post && gate_.begin_once && gate_.finish_once &&
                    !route.answer_holds_secret && !route.changes_nothing &&
                    request.headers.count("idempotency-key") > 0;
  Response response = once ? answer_once(call, route) : run_handler(call, route);
  if (route.permission != app::Permission::None && gate_.note) {
    const Result<void> noted =
        gate_.note({request, admitted.caller, route, admitted.path, response.status});
    if (!noted) {
      log(route.operation + ": not noted in the audit trail: " + noted.error().message);
      if (is_read(request.method)) return problem(noted.error());
    }
  }
  return response;
}

}  // namespace lintel::server
