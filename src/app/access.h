// Who asks, and what each role may do. Every use case of the records takes a Caller and checks it;
// nothing else decides about access.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace lintel::app {

enum class Role : std::uint8_t { Owner, Practitioner, Assistant, Athlete, Reviewer };
inline constexpr int kRoleCount = 5;
std::string_view role_name(Role role);  // "owner", ...
std::optional<Role> role_from(std::string_view name);

// What a route or use case needs. None: anybody, without a login.
enum class Permission : std::uint8_t {
  None,
  SignedIn,      // own session, own password, own tokens
  ReadCaseload,  // list and find athletes: owner, practitioner, reviewer, assistant (names only)
  ReadRecords,   // visits, trials, findings, plans, trends of all athletes: owner, practitioner,
                 // reviewer
  WriteRecords,  // owner, practitioner
  EnterTests,    // visits, tests, clips; of own making only for an assistant
  ReadOwnPlan,   // an athlete: own plan, handout, log (and whoever has ReadRecords)
  WriteOwnLog,   // an athlete: own sessions (and whoever has WriteRecords)
  Compute,       // questions to the model that touch no record: all but athletes
  TakeOut,       // export of an athlete, FHIR, tables: owner, practitioner
  Erase,         // owner
  Administer,    // accounts, organization, backup, audit trail: owner
  ReadAudit,     // owner, reviewer
  ReadVisits,    // visits with tests and clips: whoever has ReadRecords; of own making only for an
                 // assistant (who has EnterTests without ReadRecords)
};
inline constexpr int kPermissionCount = 14;
std::string_view permission_name(Permission permission);  // "read_records", as in openapi.json
std::optional<Permission> permission_from(std::string_view name);

// Does this role have it at all (whatever the record)?
bool may(Role role, Permission permission);

struct Caller {
  std::string person;        // id of the practitioner's or athlete's record; empty = nobody
  std::string organization;  // id
  Role role = Role::Reviewer;
  std::string name;       // for the audit trail and pages
  std::string session;    // id of the session or token
  bool by_token = false;  // a personal API token: no CSRF token needed
  // Of a token: the permissions it carries; empty = all of the role.
  std::vector<Permission> scopes;
  std::string write_token;  // X-Lintel-Token of the session; empty for an API token
  std::string peer;         // where from: an address, "cli"; for the audit trail

  static Caller nobody() { return {}; }
  bool signed_in() const { return !person.empty(); }
  bool has(Permission permission) const;  // role, and scopes where there are any
};

// Errors: Denied, "sign in" when nobody is signed in, else what is missing in plain words.
Result<void> require(const Caller& caller, Permission permission);
// The same for a record of an athlete made by `created_by`. An athlete reaches only own records, an
// assistant only what the assistant made (but for ReadCaseload: names). For something that is about
// to be made, pass the caller as created_by. Errors: NotFound for what is another organization's or
// another person's (its existence is not told); Denied.
Result<void> require_for(const Caller& caller, Permission permission, std::string_view organization,
                         std::string_view athlete, std::string_view created_by);

}  // namespace lintel::app
