// What the routes of records, questions and plans do alike. Inside of server/.
#pragma once

#include <string>
#include <utility>

#include "app/record_access.h"
#include "server/http.h"
#include "server/route_tools.h"

namespace lintel::server {

// use_case(faults) -> Result<Response>; a document with faults is answered with all of them.
template <typename F>
Result<Response> with_faults(F&& use_case) {
  app::Faults faults;
  Result<Response> response = use_case(faults);
  if (!response && !faults.empty()) return problem(response.error(), faults);
  return response;
}

// If-Match of something that may not be stored yet: "0" = nothing is, * = -1 = whatever there is.
Result<std::int64_t> version_to_change(const Request& request);
// If-Match where a change need not name a version; 0 = it names none.
Result<std::int64_t> version_if_named(const Request& request);

Response record_answer(app::Answer answer);  // 200 with its ETag
Response record_created(app::Answer answer, const std::string& path);

std::string path_of(const Call& call, const std::string& name);
std::string reason_of(const Call& call);

}  // namespace lintel::server
