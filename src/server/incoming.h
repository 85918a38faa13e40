// A request as it came in: its header put together, with what is not to be understood in one way
// refused.
#pragma once

#include <optional>
#include <string>

#include "server/http.h"

namespace lintel::server {

// Adds one header field (name in lower case). Several of a name are joined as lists are (RFC 9110,
// section 5.3); false for a second one of a name that must be single.
bool add_header(Request& request, const std::string& name, const std::string& value);

// From headers, `peer` and `tls` to path, query, cookies, and whether it comes from this machine.
// A target with scheme and host takes the place of Host. `proxy`: the peer whose X-Forwarded-For
// and X-Forwarded-Proto are believed. The answer that refuses; nothing = it is sound.
std::optional<Response> complete(Request& request, const std::string& target,
                                 const std::string& proxy);

Response bad_request(std::string detail);

}  // namespace lintel::server
