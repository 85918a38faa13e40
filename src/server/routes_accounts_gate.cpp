// Who asks (cookie or API token), the token of writes, and which reads the audit trail notes.
#include <algorithm>
#include <array>

#include "app/accounts.h"
#include "app/audit.h"
#include "server/request_text.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Permission;
using app::Practice;

constexpr const char* kCookieName = "lintel_session";
constexpr std::string_view kBearer = "bearer ";

std::string cookie_of(const Request& request) {
  const auto found = request.cookies.find(kCookieName);
  return found == request.cookies.end() ? std::string() : found->second;
}

Error does_not_hold(const char* what) {
  return Error{ErrorCode::Denied, what, {}, "sign in again, or make a new API token", {}};
}

Result<app::Caller> caller_of(Practice& practice, const Request& request) {
  const std::string authorization = request.header("authorization");
  std::string bearer;
  if (!authorization.empty()) {
    const std::string scheme = lower(std::string_view(authorization).substr(0, kBearer.size()));
    if (scheme == kBearer) bearer = std::string(trimmed(authorization.substr(kBearer.size())));
    if (bearer.empty()) return fail(does_not_hold("this kind of Authorization is not known"));
  }
  const std::string cookie = cookie_of(request);
  app::Caller caller = LINTEL_TRY(app::authenticate(practice, cookie, bearer, request.peer));
  if (!caller.signed_in() && !bearer.empty()) {
    return fail(does_not_hold("this API token is not valid"));
  }
  if (!caller.signed_in() && !cookie.empty()) return fail(does_not_hold("the session is over"));
  return caller;
}

// Reads of what belongs to somebody. Changes are noted by their use cases, inside the transaction.
bool is_noted(const AccessNote& note) {
  const Method method = note.route.method;
  if (method != Method::Get || note.status < 200 || note.status >= 400) return false;
  static constexpr std::array<Permission, 6> kOfSomebody = {
      Permission::ReadCaseload, Permission::ReadRecords, Permission::ReadVisits,
      Permission::ReadOwnPlan,  Permission::TakeOut,     Permission::ReadAudit};
  // A page asks after its jobs every moment; they show nothing of the record.
  if (note.path.count("job") > 0) return false;
  return std::find(kOfSomebody.begin(), kOfSomebody.end(), note.route.permission) !=
         kOfSomebody.end();
}

Result<void> note_read(Practice& practice, const AccessNote& note) {
  if (!is_noted(note)) return {};
  const auto named = [&](const char* name) {
    const auto found = note.path.find(name);
    return found == note.path.end() ? std::string() : found->second;
  };
  const std::string athlete = named("athlete");
  std::string record;
  for (const char* name : {"record", "trial", "plan", "visit", "athlete"}) {
    if (record.empty()) record = named(name);
  }
  // Where the use case has noted it already (it knows whose record it is), this adds nothing.
  const char* action = record.empty() ? "list_seen" : "record_seen";
  return app::note_seen(practice, note.caller, {action, record, athlete, note.route.operation});
}

}  // namespace

Gate account_gate(Practice& practice) {
  Gate gate;
  gate.authenticate = [&practice](const Request& request) { return caller_of(practice, request); };
  gate.write_token_holds = [](const Request& request, const app::Caller&) {
    return app::csrf_token_fits(cookie_of(request), request.header("x-lintel-token"));
  };
  gate.note = [&practice](const AccessNote& note) { return note_read(practice, note); };
  return gate;
}

}  // namespace lintel::server
