#include "app/access.h"

#include <algorithm>
#include <array>

namespace lintel::app {
namespace {

constexpr std::array<std::string_view, kRoleCount> kRoleNames = {
    "owner", "practitioner", "assistant", "athlete", "reviewer"};

// One row a permission: who has it, and what is said to somebody who has not. The columns follow
// the enumerators of Role. docs/accounts.md shows the same table; a test compares the two.
struct PermissionRow {
  Permission permission;
  std::string_view name;
  std::array<bool, kRoleCount> roles;  // owner, practitioner, assistant, athlete, reviewer
  std::string_view missing;            // "... is not part of this role"
};
constexpr bool Y = true, n = false;
constexpr std::array<PermissionRow, kPermissionCount> kTable = {{
    {Permission::None, "none", {Y, Y, Y, Y, Y}, ""},
    {Permission::SignedIn, "signed_in", {Y, Y, Y, Y, Y}, "the own account"},
    {Permission::ReadCaseload, "read_caseload", {Y, Y, Y, n, Y}, "the list of athletes"},
    {Permission::ReadRecords, "read_records", {Y, Y, n, n, Y}, "reading records"},
    {Permission::WriteRecords, "write_records", {Y, Y, n, n, n}, "changing records"},
    {Permission::EnterTests, "enter_tests", {Y, Y, Y, n, n}, "entering tests and clips"},
    {Permission::ReadOwnPlan, "read_own_plan", {Y, Y, n, Y, Y}, "reading a plan"},
    {Permission::WriteOwnLog, "write_own_log", {Y, Y, n, Y, n}, "writing the log of sessions"},
    {Permission::Compute, "compute", {Y, Y, Y, n, Y}, "asking the model"},
    {Permission::TakeOut, "take_out", {Y, Y, n, n, n}, "taking records out"},
    {Permission::Erase, "erase", {Y, n, n, n, n}, "erasing an athlete"},
    {Permission::Administer, "administer", {Y, n, n, n, n}, "looking after accounts and backups"},
    {Permission::ReadAudit, "read_audit", {Y, n, n, n, Y}, "reading the audit trail"},
    {Permission::ReadVisits, "read_visits", {Y, Y, Y, n, Y}, "reading visits"},
}};

constexpr bool rows_stand_in_order() {
  for (std::size_t i = 0; i < kTable.size(); ++i) {
    if (kTable[i].permission != static_cast<Permission>(i)) return false;
  }
  return true;
}
static_assert(rows_stand_in_order());

const PermissionRow& row(Permission permission) {
  return kTable[static_cast<std::size_t>(permission)];
}

// Whoever may do the first for everybody may do the second, which is about one's own.
constexpr std::array<std::pair<Permission, Permission>, 4> kImplied = {{
    {Permission::ReadRecords, Permission::ReadOwnPlan},
    {Permission::WriteRecords, Permission::WriteOwnLog},
    {Permission::ReadRecords, Permission::ReadVisits},
    {Permission::EnterTests, Permission::ReadVisits},
}};

bool carries(const std::vector<Permission>& scopes, Permission permission) {
  return std::find(scopes.begin(), scopes.end(), permission) != scopes.end();
}

Error not_there() {
  return Error{ErrorCode::NotFound,
               "there is no such record",
               {},
               "check the address, or go back to the list",
               {}};
}

}  // namespace

std::string_view role_name(Role role) {
  return kRoleNames[static_cast<std::size_t>(role)];
}

std::optional<Role> role_from(std::string_view name) {
  for (std::size_t i = 0; i < kRoleNames.size(); ++i) {
    if (kRoleNames[i] == name) return static_cast<Role>(i);
  }
  return std::nullopt;
}

std::string_view permission_name(Permission permission) {
  return row(permission).name;
}

std::optional<Permission> permission_from(std::string_view name) {
  for (const PermissionRow& candidate : kTable) {
    if (candidate.name == name) return candidate.permission;
  }
  return std::nullopt;
}

bool may(Role role, Permission permission) {
  return row(permission).roles[static_cast<std::size_t>(role)];
}

bool Caller::has(Permission permission) const {
  if (permission == Permission::None) return true;
  if (!signed_in() || !may(role, permission)) return false;
  if (scopes.empty() || carries(scopes, permission)) return true;
  return std::any_of(kImplied.begin(), kImplied.end(), [&](const auto& implied) {
    return implied.second == permission && carries(scopes, implied.first);
  });
}

Result<void> require(const Caller& caller, Permission permission) {
  if (caller.has(permission)) return {};
  if (!caller.signed_in()) {
    return fail(ErrorCode::Denied, "sign in first", "sign in and try again");
  }
  const std::string what(row(permission).missing);
  if (may(caller.role, permission)) {
    return fail(ErrorCode::Denied,
                "this API token does not carry \"" + std::string(row(permission).name) + "\" (" +
                    what + ")",
                "make a token with that scope");
  }
  return fail(ErrorCode::Denied,
              what + " is not part of the role " + std::string(role_name(caller.role)),
              "ask an owner of the organization");
}

Result<void> require_for(const Caller& caller, Permission permission, std::string_view organization,
                         std::string_view athlete, std::string_view created_by) {
  LINTEL_TRY_VOID(require(caller, permission));
  if (permission == Permission::None) return {};
  if (caller.organization != organization) return fail(not_there());
  if (caller.role == Role::Athlete && athlete != caller.person) return fail(not_there());
  // The list of names is the one thing an assistant reads that others made.
  if (caller.role == Role::Assistant && permission != Permission::ReadCaseload &&
      created_by != caller.person) {
    return fail(not_there());
  }
  return {};
}

}  // namespace lintel::app
