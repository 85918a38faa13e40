// Routes about accounts: first start, sign-in, people, API tokens, organization, audit trail.
#include <algorithm>
#include <array>
#include <nlohmann/json.hpp>

#include "app/account_documents.h"
#include "app/accounts.h"
#include "app/audit.h"
#include "app/version.h"
#include "server/route_tools.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Permission;
using app::Practice;
using nlohmann::json;

constexpr std::size_t kSmallBody = 16 * 1024;
constexpr int kPassphrasesPerMinute = 60;  // by one peer; app/sign_in.cpp counts more strictly
constexpr const char* kCookieName = "lintel_session";

std::string cookie_of(const Request& request) {
  const auto found = request.cookies.find(kCookieName);
  return found == request.cookies.end() ? std::string() : found->second;
}

// Strict: a link from elsewhere into Lintel shows the sign-in page once; nothing is lost by that.
std::string set_cookie(const Request& request, const std::string& secret, std::int64_t life_s) {
  return std::string(kCookieName) + "=" + secret + "; Path=/; Max-Age=" + std::to_string(life_s) +
         "; HttpOnly; SameSite=Strict" + (request.tls ? "; Secure" : "");
}

Result<Response> session_answer(Practice& practice, const app::Caller& caller, int status) {
  return Response::json(LINTEL_TRY(app::session_document(practice, caller)), status);
}

// The answer to whatever began a session: its cookie, and what GET /session would say.
Result<Response> begun(Practice& practice, const Request& request, const app::SignedIn& signed_in,
                       int status) {
  Response response = LINTEL_TRY(session_answer(practice, signed_in.caller, status));
  return std::move(response).with("set-cookie",
                                  set_cookie(request, signed_in.cookie, app::kSessionAbsolute_s));
}

// ---- First start and sign-in

Result<Response> post_owner(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"name", "organization", "passphrase", "email", "login"}));
  app::NewOwner owner;
  owner.name = LINTEL_TRY(text_member(body, "name"));
  owner.organization = LINTEL_TRY(text_member(body, "organization"));
  owner.passphrase = LINTEL_TRY(text_member(body, "passphrase"));
  owner.email = text_member_or(body, "email", "");
  owner.login = text_member_or(body, "login", "");
  owner.peer = call.request.peer;
  owner.loopback = call.request.loopback;
  const Result<app::SignedIn> signed_in = app::create_first_owner(practice, owner);
  // Nobody can be signed in here, so a refusal must not read "sign in first".
  if (!signed_in) return problem(signed_in.error());
  return begun(practice, call.request, *signed_in, 201);
}

Result<Response> post_session(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"login", "passphrase"}));
  app::SignInRequest request;
  request.login = LINTEL_TRY(text_member(body, "login"));
  request.passphrase = LINTEL_TRY(text_member(body, "passphrase"));
  request.peer = call.request.peer;
  request.old_cookie = cookie_of(call.request);
  const app::SignInOutcome outcome = LINTEL_TRY(app::sign_in(practice, request));
  if (outcome.session) return begun(practice, call.request, *outcome.session, 200);
  if (outcome.wait_s > 0) {
    return problem(429, "too many attempts",
                   "Too many attempts to sign in; try again in " + std::to_string(outcome.wait_s) +
                       " seconds.")
        .with("retry-after", std::to_string(outcome.wait_s));
  }
  return problem(401, "not signed in", "Login or passphrase is not right.");
}

Result<Response> delete_session(Practice& practice, const Call& call) {
  LINTEL_TRY_VOID(app::sign_out(practice, call.caller));
  return Response::empty(204).with("set-cookie", set_cookie(call.request, "", 0));
}

Result<Response> put_passphrase(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"old", "new"}));
  const std::string current = LINTEL_TRY(text_member(body, "old"));
  const std::string fresh = LINTEL_TRY(text_member(body, "new"));
  const app::SignedIn signed_in =
      LINTEL_TRY(app::change_passphrase(practice, call.caller, current, fresh));
  return begun(practice, call.request, signed_in, 200);
}

Result<Response> get_status(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::status_document(practice, call.request.tls)));
}

// ---- Invitations. The secret comes in the body: addresses end up in logs and histories.

Result<Response> look_at_invitation(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"secret"}));
  const std::string secret = LINTEL_TRY(text_member(body, "secret"));
  return Response::json(LINTEL_TRY(app::invitation_document(practice, secret)));
}

Result<Response> accept_invitation(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"secret", "passphrase"}));
  const std::string secret = LINTEL_TRY(text_member(body, "secret"));
  const std::string passphrase = LINTEL_TRY(text_member(body, "passphrase"));
  const app::SignedIn signed_in =
      LINTEL_TRY(app::accept_invitation(practice, secret, passphrase, call.request.peer));
  return begun(practice, call.request, signed_in, 200);
}

// ---- People

Result<bool> flag_member(const json& object, const char* name) {
  const auto found = object.find(name);
  if (found == object.end() || found->is_null()) return false;
  if (!found->is_boolean()) {
    return fail(
        Error{ErrorCode::Invalid, "is neither true nor false", {"", 0, 0, name, -1}, "", {}});
  }
  return found->get<bool>();
}

Result<app::Role> role_member(const json& object) {
  const std::string name = LINTEL_TRY(text_member(object, "role"));
  if (const auto role = app::role_from(name)) return *role;
  return fail(Error{ErrorCode::Invalid,
                    "there is no role \"" + name.substr(0, 40) + "\"",
                    {"", 0, 0, "role", -1},
                    "one of owner, practitioner, assistant, athlete, reviewer",
                    {}});
}

Result<bool> active_member(const json& object) {
  const std::string state = LINTEL_TRY(text_member(object, "state"));
  if (state == "active" || state == "inactive") return state == "active";
  return fail(Error{ErrorCode::Invalid,
                    "is neither \"active\" nor \"inactive\"",
                    {"", 0, 0, "state", -1},
                    "send one of them",
                    {}});
}

Error invitation_or_passphrase() {
  return Error{ErrorCode::Invalid,
               "either a passphrase is set or an invitation is made",
               {"", 0, 0, "invite", -1},
               "send \"invite\": true or \"passphrase\"",
               {}};
}

Result<Response> post_people(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"name", "login", "role", "passphrase", "invite", "athlete"}));
  app::NewPerson person;
  person.name = LINTEL_TRY(text_member(body, "name"));
  person.login = text_member_or(body, "login", "");
  person.role = LINTEL_TRY(role_member(body));
  person.passphrase = text_member_or(body, "passphrase", "");
  person.athlete = text_member_or(body, "athlete", "");
  if (LINTEL_TRY(flag_member(body, "invite")) != person.passphrase.empty()) {
    return fail(invitation_or_passphrase());
  }
  const app::PersonWithInvitation added =
      LINTEL_TRY(app::add_person(practice, call.caller, person));
  return created(app::person_document(added), "/api/v1/people/" + added.account.person,
                 added.account.version);
}

Result<Response> get_person(Practice& practice, const Call& call) {
  const view::Account account =
      LINTEL_TRY(app::find_person(practice, call.caller, call.path.at("person")));
  return json_with_version(app::person_document({account, "", ""}), account.version);
}

Result<Response> put_person(Practice& practice, const Call& call) {
  app::PersonChange change;
  change.expected_version = LINTEL_TRY(if_match(call.request));
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"name", "login", "role", "state", "passphrase", "invite"}));
  if (body.contains("name")) change.name = LINTEL_TRY(text_member(body, "name"));
  if (body.contains("login")) change.login = LINTEL_TRY(text_member(body, "login"));
  if (body.contains("role")) change.role = LINTEL_TRY(role_member(body));
  if (body.contains("state")) change.active = LINTEL_TRY(active_member(body));
  change.passphrase = text_member_or(body, "passphrase", "");
  change.reset_passphrase = LINTEL_TRY(flag_member(body, "invite"));
  if (change.reset_passphrase && !change.passphrase.empty()) {
    return fail(invitation_or_passphrase());
  }
  const app::PersonWithInvitation changed =
      LINTEL_TRY(app::change_person(practice, call.caller, call.path.at("person"), change));
  return json_with_version(app::person_document(changed), changed.account.version);
}

// ---- API tokens

Result<Response> post_tokens(Practice& practice, const Call& call) {
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"name", "scopes", "expires_at"}));
  app::NewToken token;
  token.name = LINTEL_TRY(text_member(body, "name"));
  token.expires_at = text_member_or(body, "expires_at", "");
  const json scopes = body.value("scopes", json::array());
  for (const json& scope : scopes) {
    if (scope.is_string()) token.scopes.push_back(scope.get<std::string>());
  }
  if (!scopes.is_array() || token.scopes.size() != scopes.size()) {
    return fail(Error{ErrorCode::Invalid,
                      "is not a list of names",
                      {"", 0, 0, "scopes", -1},
                      "send [\"read_records\"] or leave it out",
                      {}});
  }
  const app::TokenWithSecret made = LINTEL_TRY(app::add_token(practice, call.caller, token));
  return created(app::token_document(made), "/api/v1/tokens/" + made.token.id);
}

// ---- Organization and audit trail

Result<Response> get_organization(Practice& practice, const Call& call) {
  const app::OrganizationInfo info = LINTEL_TRY(app::organization_of(practice, call.caller));
  return json_with_version(app::organization_document(info), info.version);
}

Result<Response> put_organization(Practice& practice, const Call& call) {
  const std::int64_t version = LINTEL_TRY(if_match(call.request));
  const json body = LINTEL_TRY(json_object(call.request));
  LINTEL_TRY_VOID(only_members(body, {"name"}));
  const std::string name = LINTEL_TRY(text_member(body, "name"));
  const app::OrganizationInfo info =
      LINTEL_TRY(app::rename_organization(practice, call.caller, version, name));
  return json_with_version(app::organization_document(info), info.version);
}

Result<Response> get_audit(Practice& practice, const Call& call) {
  const PageQuery page = LINTEL_TRY(page_query(call.request));
  app::AuditQuery query{page.after, page.limit, query_text(call.request, "athlete"),
                        query_text(call.request, "person")};
  return Response::json(LINTEL_TRY(app::audit_document(practice, call.caller, query)));
}

Result<Response> get_audit_verify(Practice& practice, const Call& call) {
  app::ExpectedHead expected;
  constexpr std::int64_t kMost = std::int64_t{1} << 53;
  expected.sequence = LINTEL_TRY(query_integer(call.request, "sequence", 0, 0, kMost));
  expected.hash = query_text(call.request, "hash");
  return Response::json(LINTEL_TRY(app::audit_verdict_document(practice, call.caller, expected)));
}

using Work = Result<Response> (*)(Practice&, const Call&);

struct AccountRoute {
  Method method;
  const char* pattern;
  const char* operation;
  Permission permission;
  Work work;
  int per_minute = 0;
  bool secret = false;  // the answer shows one
};

Result<Response> get_session(Practice& practice, const Call& call) {
  return session_answer(practice, call.caller, 200);
}
Result<Response> get_people(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::people_document(practice, call.caller)));
}
Result<Response> get_tokens(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::tokens_document(practice, call.caller)));
}
Result<Response> get_sessions(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::sessions_document(practice, call.caller)));
}
Result<Response> end_session(Practice& practice, const Call& call) {
  const std::string& session = call.path.at("session");
  LINTEL_TRY_VOID(app::end_own_session(practice, call.caller, session));
  if (session != call.caller.session) return Response::empty(204);
  return Response::empty(204).with("set-cookie", set_cookie(call.request, "", 0));
}
Result<Response> end_other_sessions(Practice& practice, const Call& call) {
  const std::int64_t ended = LINTEL_TRY(app::end_other_sessions(practice, call.caller));
  return Response::json(json{{"ended", ended}}.dump());
}
Result<Response> delete_token(Practice& practice, const Call& call) {
  LINTEL_TRY_VOID(app::end_token(practice, call.caller, call.path.at("token")));
  return Response::empty(204);
}

constexpr std::array<AccountRoute, 22> kRoutes = {{
    {Method::Get, "/api/v1/status", "getStatus", Permission::None, get_status},
    {Method::Post, "/api/v1/owner", "createOwner", Permission::None, post_owner,
     kPassphrasesPerMinute, true},
    {Method::Post, "/api/v1/session", "signIn", Permission::None, post_session,
     kPassphrasesPerMinute, true},
    {Method::Get, "/api/v1/session", "getSession", Permission::SignedIn, get_session},
    {Method::Delete, "/api/v1/session", "signOut", Permission::SignedIn, delete_session},
    {Method::Put, "/api/v1/session/passphrase", "changePassphrase", Permission::SignedIn,
     put_passphrase, kPassphrasesPerMinute, true},
    {Method::Post, "/api/v1/invitations/look", "lookAtInvitation", Permission::None,
     look_at_invitation, kPassphrasesPerMinute},
    {Method::Post, "/api/v1/invitations/accept", "acceptInvitation", Permission::None,
     accept_invitation, kPassphrasesPerMinute, true},
    {Method::Get, "/api/v1/sessions", "listSessions", Permission::SignedIn, get_sessions},
    {Method::Delete, "/api/v1/sessions", "endOtherSessions", Permission::SignedIn,
     end_other_sessions},
    {Method::Delete, "/api/v1/sessions/{session}", "endSession", Permission::SignedIn, end_session},
    {Method::Get, "/api/v1/tokens", "listTokens", Permission::SignedIn, get_tokens},
    {Method::Post, "/api/v1/tokens", "createToken", Permission::SignedIn, post_tokens, 0, true},
    {Method::Delete, "/api/v1/tokens/{token}", "deleteToken", Permission::SignedIn, delete_token},
    {Method::Get, "/api/v1/people", "listPeople", Permission::Administer, get_people},
    {Method::Post, "/api/v1/people", "createPerson", Permission::Administer, post_people, 0, true},
    {Method::Get, "/api/v1/people/{person}", "getPerson", Permission::Administer, get_person},
    {Method::Put, "/api/v1/people/{person}", "changePerson", Permission::Administer, put_person, 0,
     true},
    {Method::Get, "/api/v1/organization", "getOrganization", Permission::SignedIn,
     get_organization},
    {Method::Put, "/api/v1/organization", "changeOrganization", Permission::Administer,
     put_organization},
    {Method::Get, "/api/v1/audit", "listAudit", Permission::ReadAudit, get_audit},
    {Method::Get, "/api/v1/audit/verify", "verifyAudit", Permission::ReadAudit, get_audit_verify},
}};

}  // namespace

void add_account_routes(std::vector<Route>& routes, Practice& practice) {
  for (const AccountRoute& one : kRoutes) {
    Route route;
    route.method = one.method;
    route.pattern = one.pattern;
    route.operation = one.operation;
    route.permission = one.permission;
    route.handler = [&practice, work = one.work](const Call& call) { return work(practice, call); };
    route.body_limit = kSmallBody;
    route.per_minute = one.per_minute;
    route.answer_holds_secret = one.secret;
    routes.push_back(std::move(route));
  }
}

}  // namespace lintel::server
