// Requests, responses and routes, without a word of the library that carries them.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "app/access.h"
#include "base/progress.h"
#include "base/result.h"

namespace lintel::server {

enum class Method : std::uint8_t { Get, Head, Post, Put, Patch, Delete };
std::string_view method_name(Method method);

struct Request {
  Method method = Method::Get;
  std::string path;                            // decoded, without the query
  std::map<std::string, std::string> query;    // decoded; the last of two equal names
  std::map<std::string, std::string> headers;  // names in lower case
  std::map<std::string, std::string> cookies;
  std::string body;  // whole; limited by the route (Route::body_limit)
  std::string peer;  // address of the other side
  bool tls = false;
  bool loopback = false;

  std::string header(const std::string& lower_case_name) const;  // empty = not there
};

// A file or a part of it; the connection answers Range, If-Range and HEAD by itself.
struct FileBody {
  std::filesystem::path path;
};

// Server-sent events. `next` is called on the pool every `interval_ms` with the id of the last
// event sent; an empty list sends a comment now and then to keep the line open.
struct Event {
  std::string id, name, data;
};
struct EventBatch {
  std::vector<Event> events;
  bool last = false;  // close after these
};
struct EventSource {
  std::function<EventBatch(std::string_view last_id)> next;
  int interval_ms = 250;
};

struct Response {
  int status = 200;
  std::vector<std::pair<std::string, std::string>> headers;
  std::variant<std::string, FileBody, EventSource> body;

  const std::string* header(std::string_view name) const;  // any case; null = not there

  static Response json(std::string text, int status = 200);
  static Response text(std::string text, std::string media_type, int status = 200);
  static Response file(std::filesystem::path path, std::string media_type);
  static Response empty(int status = 204);
  Response&& with(std::string name, std::string value) &&;
};

// RFC 9457: {"type","title","status","detail","place","mend"}; the table of ErrorCode to status
// is in problem.cpp: NotFound 404, Invalid 422, Unsupported 415, Conflict 409, Denied 403, Limit
// 413, Cancelled 409, Io 503, Internal 500.
Response problem(const Error& error);
// The same with every fault of the input beside it: "faults": [{"field","detail","mend"}].
Response problem(const Error& error, const std::vector<Error>& faults);
// [{"field","line","detail","mend"}, ...]
std::string faults_json(const std::vector<Error>& faults);
// The same under another status than the table's.
Response problem(const Error& error, int status, std::string title);
Response problem(int status, std::string title, std::string detail);

struct Call {
  const Request& request;
  const app::Caller& caller;                // who asks; Caller::nobody() on public routes
  std::map<std::string, std::string> path;  // "{athlete}" -> its text
  WorkContext work;                         // stop = the other side has gone or the server stops
};
using Handler = std::function<Result<Response>(const Call&)>;

struct Route {
  Method method = Method::Get;
  std::string pattern;    // "/api/v1/athletes/{athlete}"
  std::string operation;  // operationId in docs/api/openapi.json
  app::Permission permission = app::Permission::None;
  Handler handler;
  std::size_t body_limit = std::size_t{1} << 20;
  int per_minute = 0;  // calls by one peer in a minute (passwords, codes); 0 = the usual limit
  bool answer_holds_secret = false;  // shown once: not kept under an Idempotency-Key
  bool changes_nothing = false;  // a question: asked again it is answered again, nothing is kept
};

}  // namespace lintel::server
