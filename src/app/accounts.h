// People, sign-in, sessions, API tokens, invitations. Everything here writes the audit trail
// itself.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"
#include "view/account.h"

namespace lintel::app {

// ---- Who asks

// The caller behind a session cookie or an API token. Where a bearer is given, it alone counts.
// What is unknown, expired, ended or of a deactivated person gives Caller::nobody(), whatever was
// wrong with it. `peer` is put into the caller for the audit trail. Moves the idle expiry of a
// session on. Errors: Io only.
Result<Caller> authenticate(Practice& practice, std::string_view cookie, std::string_view bearer,
                            std::string_view peer = {});

// The CSRF token that goes with a session cookie: it follows from it, nothing is kept.
std::string csrf_token_of(std::string_view cookie);
// Compared in constant time; false for an empty one.
bool csrf_token_fits(std::string_view cookie, std::string_view token);

// ---- Sign-in

inline constexpr std::int64_t kSessionIdle_s = 8 * 3600;           // a working day
inline constexpr std::int64_t kSessionAbsolute_s = 7 * 24 * 3600;  // then sign in again

// A session that has begun. `cookie` is the only copy of its secret.
struct SignedIn {
  Caller caller;
  std::string cookie;
  std::string csrf_token;
  std::string expires_at;  // absolute
};

struct SignInRequest {
  std::string login, passphrase;
  std::string peer;  // address of the other side
  std::string
      old_cookie;  // what the browser sent; that session ends, its secret is never used again
};
// How a sign-in came out: `session`, or `wait_s` > 0 (too many attempts, try again after that), or
// neither: login or passphrase is wrong (which of them, and whether the login exists, is not told).
struct SignInOutcome {
  std::optional<SignedIn> session;
  std::int64_t wait_s = 0;
};
// Attempts are counted for each login, existing or not, and for each address, before the
// passphrase is looked at. Errors: Io, Limit (no memory for the hash).
Result<SignInOutcome> sign_in(Practice& practice, const SignInRequest& request);

// Ends the caller's session. For an API token: Denied.
Result<void> sign_out(Practice& practice, const Caller& caller);

// Ends all other sessions of the person; the caller's own goes on under a new secret. Errors:
// Denied (wrong current passphrase; an API token), Invalid (new one too weak, with the rule).
Result<SignedIn> change_passphrase(Practice& practice, const Caller& caller,
                                   std::string_view current, std::string_view fresh);

// What a signed-in person is told about the own account.
struct SessionInfo {
  view::Account account;
  std::string organization_name;
  std::vector<std::string> permissions;  // what the caller has, scopes of a token counted in
};
Result<SessionInfo> session_info(Practice& practice, const Caller& caller);

// ---- Own sessions: where one is signed in. Errors of all three: Denied for an API token.

// The last used first.
Result<std::vector<view::OwnSession>> list_own_sessions(Practice& practice, const Caller& caller);
// Errors: NotFound for what is no session of the caller.
Result<void> end_own_session(Practice& practice, const Caller& caller, std::string_view session);
// All but the one that asks; how many those were.
Result<std::int64_t> end_other_sessions(Practice& practice, const Caller& caller);

// ---- First start and organizations

Result<bool> needs_owner(Practice& practice);

struct NewOwner {
  std::string name, organization, passphrase;
  std::string email;  // becomes the login; empty = the login follows from the name
  std::string login;  // goes before both
  std::string peer;
  bool loopback = false;
};
// Only once and only from this machine. Errors: Denied (not loopback), Conflict (there is an
// owner), Invalid (field "name", "organization", "passphrase", "login").
Result<SignedIn> create_first_owner(Practice& practice, const NewOwner& owner);

// Another organization in the same database with its own owner, for the person at the machine.
// Errors: Invalid, Conflict (the login is taken).
Result<SignedIn> found_organization(Practice& practice, const NewOwner& owner);

struct OrganizationInfo {
  std::string id, name;
  std::int64_t version = 1;
  std::string changed_at;
};
Result<OrganizationInfo> organization_of(Practice& practice, const Caller& caller);
// Errors: Conflict for a stale version, Invalid, Denied.
Result<OrganizationInfo> rename_organization(Practice& practice, const Caller& caller,
                                             std::int64_t expected_version, std::string_view name);

// ---- People

struct NewPerson {
  std::string name;
  std::string login;  // empty = follows from the name
  Role role = Role::Reviewer;
  std::string passphrase;  // empty = an invitation is made
  std::string athlete;     // role athlete: id of the athlete's record, which must be there
};
// A person and, where one was made, the secret of the invitation: shown once, kept as a digest.
struct PersonWithInvitation {
  view::Account account;
  std::string invitation;             // empty = none
  std::string invitation_expires_at;  // 7 days
};
// Errors: Denied, Invalid, Conflict (login taken, or the athlete has an account), NotFound
// (athlete).
Result<PersonWithInvitation> add_person(Practice& practice, const Caller& caller,
                                        const NewPerson& person);
Result<std::vector<view::Account>> list_people(Practice& practice, const Caller& caller);
Result<view::Account> find_person(Practice& practice, const Caller& caller,
                                  std::string_view person);
Result<view::Account> find_person_by_login(Practice& practice, const Caller& caller,
                                           std::string_view login);

struct PersonChange {
  std::int64_t expected_version = 0;  // 0 = whatever it is
  std::optional<std::string> name, login;
  std::optional<Role> role;       // an athlete stays one, and nobody becomes one
  std::optional<bool> active;     // false ends sessions and API tokens
  bool reset_passphrase = false;  // takes the passphrase away and makes an invitation
  std::string passphrase;         // or sets this one; ends sessions
};
// Errors: Denied, NotFound, Invalid, Conflict (stale version, login taken, the last active owner).
Result<PersonWithInvitation> change_person(Practice& practice, const Caller& caller,
                                           std::string_view person, const PersonChange& change);

struct InvitationInfo {
  std::string name, login, organization;  // names
  std::string expires_at;
};
// Errors: NotFound for what is unknown, used or expired.
Result<InvitationInfo> look_at_invitation(Practice& practice, std::string_view secret);
// Sets the passphrase and signs in; the invitation is used up. Errors: NotFound, Invalid.
Result<SignedIn> accept_invitation(Practice& practice, std::string_view secret,
                                   std::string_view passphrase, std::string_view peer);

// ---- API tokens of the caller

struct NewToken {
  std::string name;
  std::vector<std::string> scopes;  // names of permissions that the role has; empty = all of them
  std::string expires_at;           // instant or day; empty = in 90 days; at most in 366
};
struct TokenWithSecret {
  view::ApiToken token;
  std::string secret;  // shown once
};
// Errors: Denied (an API token cannot make another), Invalid, Limit (50 tokens).
Result<TokenWithSecret> add_token(Practice& practice, const Caller& caller, const NewToken& token);
Result<std::vector<view::ApiToken>> list_tokens(Practice& practice, const Caller& caller);
Result<void> end_token(Practice& practice, const Caller& caller, std::string_view token);

// ---- For the person at the machine (command line)

// A caller with every right of an owner over one organization; its acts stand in the audit trail as
// done from "cli". Errors: NotFound (no organization yet; or several and none named).
Result<Caller> caller_at_the_machine(Practice& practice, std::string_view organization = {});

}  // namespace lintel::app
