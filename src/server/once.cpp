// Once-only keys: the gate's part of app/idempotency.h.
#include <nlohmann/json.hpp>

#include "app/idempotency.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using Json = nlohmann::ordered_json;

app::OnceKey key_of(const app::Caller& caller, const Request& request) {
  app::OnceKey key;
  key.key = request.header("idempotency-key");
  key.path = std::string(method_name(request.method)) + " " + request.path;
  // What makes it the same request: the query and the body.
  for (const auto& [name, value] : request.query) key.content += name + "=" + value + "\n";
  key.content += '\n' + request.body;
  (void)caller;
  return key;
}

std::string written(const KeptAnswer& answer) {
  Json json;
  json["status"] = answer.status;
  json["headers"] = answer.headers;
  json["body"] = answer.body;
  return json.dump(-1, ' ', false, Json::error_handler_t::strict);
}

Result<KeptAnswer> read(const std::string& text) {
  try {
    const Json json = Json::parse(text);
    KeptAnswer answer;
    answer.status = json.at("status").get<int>();
    answer.headers = json.at("headers").get<std::vector<std::pair<std::string, std::string>>>();
    answer.body = json.at("body").get<std::string>();
    return answer;
  } catch (const Json::exception&) {
    return fail(ErrorCode::Internal, "a kept answer cannot be read");
  }
}

}  // namespace

Gate whole_gate(app::Practice& practice) {
  Gate gate = account_gate(practice);
  gate.begin_once = [&practice](const app::Caller& caller,
                                const Request& request) -> Result<std::optional<KeptAnswer>> {
    const std::optional<std::string> kept =
        LINTEL_TRY(app::begin_once(practice, caller, key_of(caller, request)));
    if (!kept) return std::nullopt;
    return LINTEL_TRY(read(*kept));
  };
  gate.finish_once = [&practice](const app::Caller& caller, const Request& request,
                                 const std::optional<KeptAnswer>& answer) {
    std::string text;
    try {
      if (answer) text = written(*answer);
    } catch (const Json::exception&) {
      text.clear();  // no text: nothing to keep
    }
    app::finish_once(practice, caller, key_of(caller, request), text);
  };
  return gate;
}

}  // namespace lintel::server
