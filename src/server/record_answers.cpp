#include "server/record_answers.h"

namespace lintel::server {

Result<std::int64_t> version_to_change(const Request& request) {
  const std::string header = request.header("if-match");
  if (header == "\"0\"") return 0;
  if (header == "*") return -1;
  return if_match(request);
}

Result<std::int64_t> version_if_named(const Request& request) {
  if (request.header("if-match").empty()) return 0;
  return if_match(request);
}

Response record_answer(app::Answer answer) {
  return json_with_version(std::move(answer.json), answer.version);
}

Response record_created(app::Answer answer, const std::string& path) {
  return created(std::move(answer.json), path + answer.id, answer.version);
}

std::string path_of(const Call& call, const std::string& name) {
  const auto found = call.path.find(name);
  return found == call.path.end() ? std::string() : found->second;
}

std::string reason_of(const Call& call) {
  return query_text(call.request, "reason");
}

}  // namespace lintel::server
