// The protocols and drills in force at one workplace: those built in, its own ones, and its own
// standard errors in place of the published ones.
#pragma once

#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "body/test_protocol.h"
#include "plan/drill.h"
#include "store/database.h"

namespace lintel::app {

struct Library {
  // Built in, then own by id, archived ones too: what was measured and done with them is read by
  // them. Where a later program has a built-in one of the id of an own one, the own one stays.
  std::vector<body::TestProtocol> protocols;
  std::vector<plan::Drill> drills;
  // What the protocols themselves say, of those whose standard error is the workplace's own.
  std::map<std::string, body::ProtocolError> published_errors;

  body::ProtocolError published_error(const body::TestProtocol& protocol) const;
};
using SharedLibrary = std::shared_ptr<const Library>;

SharedLibrary built_in_library();

// That of an organization as this transaction sees it; kept in memory until it changes. An own one
// that this program cannot read (a later one is stricter, somebody wrote into the database) is left
// out, so that it stops nothing but its own results; its card says why. Errors: those of the
// database.
Result<SharedLibrary> library_of(store::Transaction& t, std::string_view organization);

}  // namespace lintel::app
