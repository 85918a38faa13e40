#include "app/access.h"

#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

namespace lintel::app {
namespace {

constexpr Role kRoles[] = {Role::Owner, Role::Practitioner, Role::Assistant, Role::Athlete,
                           Role::Reviewer};

Caller caller(Role role) {
  Caller c;
  c.person = "me";
  c.organization = "ours";
  c.role = role;
  return c;
}

// The table of docs/accounts.md: "| `read_records` | yes | yes | - | - | yes |" and so on, with the
// roles in the order of its head line. What people read must be what the program does.
TEST(Access, IsWhatTheDocumentSays) {
  std::ifstream file(std::string(LINTEL_SOURCE_DIR) + "/docs/accounts.md");
  ASSERT_TRUE(file);
  int rows = 0;
  for (std::string line; std::getline(file, line);) {
    if (line.rfind("| `", 0) != 0) continue;
    std::istringstream in(line);
    std::vector<std::string> cells;
    for (std::string cell; std::getline(in, cell, '|');) {
      cell.erase(0, cell.find_first_not_of(' ') == std::string::npos ? cell.size()
                                                                     : cell.find_first_not_of(' '));
      while (!cell.empty() && cell.back() == ' ') cell.pop_back();
      cells.push_back(cell);
    }
    const std::string name = cells.at(1).substr(1, cells.at(1).size() - 2);
    const auto permission = permission_from(name);
    if (!permission) continue;  // another table of that page
    ++rows;
    ASSERT_GE(cells.size(), 2u + kRoleCount) << line;
    for (std::size_t i = 0; i < kRoleCount; ++i) {
      EXPECT_EQ(cells[2 + i].rfind("yes", 0) == 0, may(kRoles[i], *permission))
          << name << " " << role_name(kRoles[i]) << ": the page says \"" << cells[2 + i] << "\"";
    }
  }
  EXPECT_EQ(rows, kPermissionCount - 1);  // all but "none"
}

TEST(Access, NamesGoBothWays) {
  for (const Role role : kRoles) EXPECT_EQ(role_from(role_name(role)), role);
  EXPECT_FALSE(role_from("Owner"));
  EXPECT_FALSE(role_from(""));
  for (int i = 0; i < kPermissionCount; ++i) {
    const auto permission = static_cast<Permission>(i);
    EXPECT_EQ(permission_from(permission_name(permission)), permission);
  }
  EXPECT_FALSE(permission_from("everything"));
}

TEST(Access, NobodyMayOnlyWhatNeedsNoLogin) {
  for (int i = 0; i < kPermissionCount; ++i) {
    const auto permission = static_cast<Permission>(i);
    EXPECT_EQ(Caller::nobody().has(permission), permission == Permission::None);
  }
  const auto refused = require(Caller::nobody(), Permission::ReadRecords);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().code, ErrorCode::Denied);
  EXPECT_EQ(refused.error().message, "sign in first");
}

TEST(Access, TokenCarriesOnlyItsScopesAndNeverMoreThanTheRole) {
  Caller token = caller(Role::Practitioner);
  token.by_token = true;
  token.scopes = {Permission::ReadRecords, Permission::Administer};
  EXPECT_TRUE(token.has(Permission::ReadRecords));
  EXPECT_TRUE(token.has(Permission::ReadOwnPlan));  // part of it
  EXPECT_TRUE(token.has(Permission::ReadVisits));   // part of it
  EXPECT_FALSE(token.has(Permission::WriteRecords));
  EXPECT_FALSE(token.has(Permission::WriteOwnLog));
  EXPECT_FALSE(token.has(Permission::SignedIn));
  EXPECT_FALSE(token.has(Permission::Administer));  // not the role's
  const auto refused = require(token, Permission::WriteRecords);
  ASSERT_FALSE(refused);
  EXPECT_NE(refused.error().message.find("write_records"), std::string::npos);
}

struct RecordCase {
  Role role;
  Permission permission;
  const char *organization, *athlete, *made_by;
  std::optional<ErrorCode> refused;
};

TEST(Access, OfARecordDependsOnOrganizationAthleteAndMaker) {
  const std::optional<ErrorCode> ok, gone = ErrorCode::NotFound, denied = ErrorCode::Denied;
  const RecordCase cases[] = {
      {Role::Owner, Permission::ReadRecords, "ours", "a", "x", ok},
      {Role::Owner, Permission::ReadRecords, "theirs", "a", "x", gone},
      {Role::Owner, Permission::Erase, "theirs", "a", "x", gone},
      {Role::Practitioner, Permission::WriteRecords, "ours", "a", "x", ok},
      {Role::Practitioner, Permission::WriteRecords, "theirs", "a", "me", gone},
      {Role::Practitioner, Permission::Erase, "ours", "a", "me", denied},
      {Role::Reviewer, Permission::ReadRecords, "ours", "a", "x", ok},
      {Role::Reviewer, Permission::WriteRecords, "ours", "a", "x", denied},
      {Role::Reviewer, Permission::ReadRecords, "", "a", "x", gone},
      {Role::Assistant, Permission::EnterTests, "ours", "a", "me", ok},
      {Role::Assistant, Permission::EnterTests, "ours", "a", "x", gone},
      {Role::Assistant, Permission::EnterTests, "ours", "a", "", gone},
      {Role::Assistant, Permission::ReadVisits, "ours", "a", "me", ok},
      {Role::Assistant, Permission::ReadVisits, "ours", "a", "x", gone},
      {Role::Assistant, Permission::ReadCaseload, "ours", "a", "x", ok},
      {Role::Assistant, Permission::ReadCaseload, "theirs", "a", "x", gone},
      {Role::Assistant, Permission::ReadRecords, "ours", "a", "me", denied},
      {Role::Athlete, Permission::ReadOwnPlan, "ours", "me", "x", ok},
      {Role::Athlete, Permission::ReadOwnPlan, "ours", "a", "x", gone},
      {Role::Athlete, Permission::ReadOwnPlan, "ours", "", "me", gone},
      {Role::Athlete, Permission::ReadOwnPlan, "theirs", "me", "x", gone},
      {Role::Athlete, Permission::WriteOwnLog, "ours", "me", "me", ok},
      {Role::Athlete, Permission::WriteOwnLog, "ours", "a", "me", gone},
      {Role::Athlete, Permission::ReadRecords, "ours", "me", "me", denied},
  };
  for (const RecordCase& c : cases) {
    const auto result =
        require_for(caller(c.role), c.permission, c.organization, c.athlete, c.made_by);
    const std::string what = std::string(role_name(c.role)) + " " +
                             std::string(permission_name(c.permission)) + " " + c.organization +
                             " " + c.athlete + " " + c.made_by;
    EXPECT_EQ(result.has_value(), !c.refused) << what;
    if (!result && c.refused) {
      EXPECT_EQ(result.error().code, *c.refused) << what;
    }
  }
}

// Two refusals must not differ, or the answer tells which ids exist.
TEST(Access, AnothersRecordReadsLikeNoRecord) {
  const auto other_organization =
      require_for(caller(Role::Owner), Permission::ReadRecords, "theirs", "a", "x");
  const auto other_athlete =
      require_for(caller(Role::Athlete), Permission::ReadOwnPlan, "ours", "a", "x");
  EXPECT_EQ(describe(other_organization.error()), describe(other_athlete.error()));
}

}  // namespace
}  // namespace lintel::app
