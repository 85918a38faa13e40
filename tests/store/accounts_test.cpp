#include "store/accounts.h"

#include <gtest/gtest.h>

#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using test::expect_value;

constexpr const char* kLater = "2026-03-10T07:05:30.123Z";

AccountRow account(const std::string& person, const std::string& login,
                   const std::string& role = "practitioner") {
  AccountRow row;
  row.account.person = person;
  row.account.organization = "org";
  row.account.name = "Runa Feldvik";
  row.account.login = login;
  row.account.role = role;
  row.account.created_at = row.account.changed_at = test::kNow;
  row.passphrase_hash = "$argon2id$...";
  return row;
}

class AccountsTest : public test::StoreTest {
 protected:
  template <typename F>
  auto write(F&& body) {
    return database().write([&](Transaction& t) -> Result<void> { return body(t); });
  }
  template <typename T, typename F>
  T ask(F&& body) {
    return expect_value(read_value<T>(database(), [&](Transaction& t) { return body(t); }));
  }
  void add(const AccountRow& row) {
    ASSERT_TRUE(write([&](Transaction& t) { return insert_account(t, row); }));
  }
  std::optional<AccountRow> find(const std::string& person) {
    return ask<std::optional<AccountRow>>([&](Transaction& t) { return find_account(t, person); });
  }
  void begin(const std::string& id, const std::string& person) {
    ASSERT_TRUE(write([&](Transaction& t) {
      return insert_session(t, {id, "digest-" + id, person, test::kNow, test::kNow, kLater, "::1"});
    }));
  }
  bool lives(const std::string& id, const std::string& now = test::kNow,
             const std::string& idle_since = "") {
    return ask<std::optional<SessionWithAccount>>(
               [&](Transaction& t) { return find_session(t, "digest-" + id, now, idle_since); })
        .has_value();
  }
};
LINTEL_BOTH_ENGINES(AccountsTest);

TEST_P(AccountsTest, KeepsAnAccount) {
  add(account("p-1", "runa.feldvik"));
  const auto found = find("p-1");
  ASSERT_TRUE(found);
  EXPECT_EQ(found->account.name, "Runa Feldvik");
  EXPECT_EQ(found->account.role, "practitioner");
  EXPECT_EQ(found->account.version, 1);
  EXPECT_TRUE(found->account.active);
  EXPECT_TRUE(found->account.has_passphrase);
  EXPECT_EQ(found->passphrase_hash, "$argon2id$...");
  EXPECT_EQ(found->account.signed_in_at, "");
  const auto by_login = ask<std::optional<AccountRow>>(
      [](Transaction& t) { return find_account_by_login(t, "runa.feldvik"); });
  ASSERT_TRUE(by_login);
  EXPECT_EQ(by_login->account.person, "p-1");
  EXPECT_FALSE(find("p-2"));
  EXPECT_FALSE(ask<std::optional<AccountRow>>(
      [](Transaction& t) { return find_account_by_login(t, "Runa.Feldvik"); }));
}

TEST_P(AccountsTest, RefusesASecondLoginAndASecondAccountOfAPerson) {
  add(account("p-1", "runa"));
  const auto twin = write([](Transaction& t) { return insert_account(t, account("p-2", "runa")); });
  ASSERT_FALSE(twin);
  EXPECT_EQ(twin.error().code, ErrorCode::Conflict);
  EXPECT_EQ(twin.error().place.field, "login");
  const auto again = write([](Transaction& t) { return insert_account(t, account("p-1", "ru")); });
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, ErrorCode::Conflict);
  EXPECT_EQ(ask<std::int64_t>([](Transaction& t) { return count_accounts(t); }), 1);
}

TEST_P(AccountsTest, ChangesOnlyTheVersionThatWasRead) {
  add(account("p-1", "runa"));
  add(account("p-2", "eskil"));
  AccountRow row = *find("p-1");
  row.account.role = "owner";
  row.account.active = false;
  ASSERT_TRUE(write([&](Transaction& t) { return update_account(t, row); }));
  EXPECT_EQ(find("p-1")->account.version, 2);
  EXPECT_EQ(find("p-1")->account.role, "owner");
  EXPECT_FALSE(find("p-1")->account.active);
  const auto stale = write([&](Transaction& t) { return update_account(t, row); });
  ASSERT_FALSE(stale);
  EXPECT_EQ(stale.error().code, ErrorCode::Conflict);
  row = *find("p-1");
  row.account.login = "eskil";
  const auto taken = write([&](Transaction& t) { return update_account(t, row); });
  ASSERT_FALSE(taken);
  EXPECT_EQ(taken.error().place.field, "login");
  row.account.person = "p-9";
  row.account.login = "new";
  EXPECT_EQ(write([&](Transaction& t) { return update_account(t, row); }).error().code,
            ErrorCode::NotFound);
}

TEST_P(AccountsTest, CountsOwnersWhoCanSignIn) {
  add(account("p-1", "a", "owner"));
  add(account("p-2", "b", "owner"));
  add(account("p-3", "c"));
  AccountRow gone = *find("p-2");
  gone.account.active = false;
  ASSERT_TRUE(write([&](Transaction& t) { return update_account(t, gone); }));
  EXPECT_EQ(ask<std::int64_t>([](Transaction& t) { return count_active_owners(t, "org"); }), 1);
  EXPECT_EQ(ask<std::int64_t>([](Transaction& t) { return count_active_owners(t, "x"); }), 0);
  const auto organizations =
      ask<std::vector<std::string>>([](Transaction& t) { return list_organizations(t); });
  EXPECT_EQ(organizations, std::vector<std::string>{"org"});
  EXPECT_EQ(ask<std::vector<view::Account>>([](Transaction& t) {
              return list_accounts(t, "org");
            }).size(),
            3u);
}

TEST_P(AccountsTest, ASessionLivesUntilItsEndItsIdleTimeOrItsPerson) {
  add(account("p-1", "runa"));
  begin("s", "p-1");
  EXPECT_TRUE(lives("s"));
  EXPECT_FALSE(lives("other"));
  EXPECT_FALSE(lives("s", kLater));                         // over
  EXPECT_FALSE(lives("s", test::kNow, test::kNow));         // not seen since
  EXPECT_TRUE(lives("s", test::kNow, "2026-03-09T07:05"));  // seen after that
  ASSERT_TRUE(write([](Transaction& t) { return touch_session(t, "s", "2026-03-09T08"); }));
  EXPECT_TRUE(lives("s", test::kNow, test::kNow));
  ASSERT_TRUE(write([](Transaction& t) { return touch_session(t, "s", "2026-03-09T07"); }));
  EXPECT_TRUE(lives("s", test::kNow, test::kNow));  // never back
  ASSERT_TRUE(write([](Transaction& t) { return renew_session(t, "s", "digest-new"); }));
  EXPECT_FALSE(lives("s"));
  EXPECT_TRUE(lives("new"));
  AccountRow row = *find("p-1");
  row.account.active = false;
  ASSERT_TRUE(write([&](Transaction& t) { return update_account(t, row); }));
  EXPECT_FALSE(lives("new"));
}

TEST_P(AccountsTest, EndsTheOtherSessionsOfAPerson) {
  add(account("p-1", "runa"));
  add(account("p-2", "eskil"));
  for (const char* id : {"a", "b", "c"}) begin(id, "p-1");
  begin("d", "p-2");
  EXPECT_EQ(expect_value(write_value<std::int64_t>(
                database(), [](Transaction& t) { return end_sessions_of(t, "p-1", "b"); })),
            2);
  EXPECT_FALSE(lives("a"));
  EXPECT_TRUE(lives("b"));
  EXPECT_TRUE(lives("d"));
  ASSERT_TRUE(write([](Transaction& t) { return end_session(t, "b"); }));
  EXPECT_FALSE(lives("b"));
}

TEST_P(AccountsTest, ListsTheOpenSessionsOfAPersonAndEndsOne) {
  add(account("p-1", "runa"));
  add(account("p-2", "eskil"));
  for (const char* id : {"a", "b", "c"}) begin(id, "p-1");
  begin("d", "p-2");
  ASSERT_TRUE(write([](Transaction& t) { return touch_session(t, "b", "2026-03-09T08"); }));
  const auto listed = [&](const char* now, const char* idle_since) {
    std::string ids;
    for (const SessionRow& row : ask<std::vector<SessionRow>>(
             [&](Transaction& t) { return list_sessions(t, "p-1", now, idle_since); })) {
      EXPECT_EQ(row.person, "p-1");
      EXPECT_TRUE(row.digest.empty());
      ids += row.id;
    }
    return ids;
  };
  EXPECT_EQ(listed(test::kNow, ""), "bac") << "the last used first";
  EXPECT_EQ(listed(test::kNow, "2026-03-09T07:30"), "b");
  EXPECT_EQ(listed(kLater, ""), "");
  const auto end = [&](const char* person, const char* id) {
    return expect_value(write_value<bool>(
        database(), [&](Transaction& t) { return end_session_of(t, person, id); }));
  };
  EXPECT_FALSE(end("p-1", "d")) << "somebody else's";
  EXPECT_TRUE(lives("d"));
  EXPECT_TRUE(end("p-1", "a"));
  EXPECT_FALSE(end("p-1", "a"));
  EXPECT_EQ(listed(test::kNow, ""), "bc");
}

TEST_P(AccountsTest, KeepsTokensWithTheirScopes) {
  add(account("p-1", "runa"));
  view::ApiToken token{"t-1",  "p-1", "spreadsheet", {"read_records", "take_out"}, test::kNow,
                       kLater, ""};
  ASSERT_TRUE(write([&](Transaction& t) { return insert_token(t, {token, "digest"}); }));
  const auto find_it = [&](const char* digest, const char* now) {
    return ask<std::optional<TokenWithAccount>>(
        [&](Transaction& t) { return find_token(t, digest, now); });
  };
  const auto found = find_it("digest", test::kNow);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->token.scopes, token.scopes);
  EXPECT_EQ(found->account.role, "practitioner");
  EXPECT_FALSE(find_it("digest", kLater));
  EXPECT_FALSE(find_it("diges", test::kNow));
  ASSERT_TRUE(write([](Transaction& t) { return touch_token(t, "t-1", test::kNow); }));
  EXPECT_EQ(find_it("digest", test::kNow)->token.used_at, test::kNow);
  // Another person's token is not there.
  EXPECT_FALSE(expect_value(
      write_value<bool>(database(), [](Transaction& t) { return remove_token(t, "p-2", "t-1"); })));
  EXPECT_TRUE(expect_value(
      write_value<bool>(database(), [](Transaction& t) { return remove_token(t, "p-1", "t-1"); })));
  EXPECT_FALSE(find_it("digest", test::kNow));
}

TEST_P(AccountsTest, ANewInvitationTakesThePlaceOfTheOld) {
  add(account("p-1", "runa"));
  for (const char* digest : {"old", "new"}) {
    ASSERT_TRUE(write([&](Transaction& t) {
      return put_invitation(t, {digest, "p-1", test::kNow, kLater});
    }));
  }
  const auto find_it = [&](const char* digest, const char* now) {
    return ask<std::optional<InvitationRow>>(
               [&](Transaction& t) { return find_invitation(t, digest, now); })
        .has_value();
  };
  EXPECT_FALSE(find_it("old", test::kNow));
  EXPECT_TRUE(find_it("new", test::kNow));
  EXPECT_FALSE(find_it("new", kLater));
  ASSERT_TRUE(write([](Transaction& t) { return remove_invitation_of(t, "p-1"); }));
  EXPECT_FALSE(find_it("new", test::kNow));
}

TEST_P(AccountsTest, RemovesAPersonWithAllThatHangsOnTheAccount) {
  add(account("p-1", "runa"));
  begin("s", "p-1");
  ASSERT_TRUE(write([](Transaction& t) {
    return put_invitation(t, {"digest", "p-1", test::kNow, kLater});
  }));
  const auto remove = [&] {
    return expect_value(
        write_value<bool>(database(), [](Transaction& t) { return remove_account(t, "p-1"); }));
  };
  EXPECT_TRUE(remove());
  EXPECT_FALSE(remove());
  for (const char* table : {"accounts", "sessions", "invitations", "api_tokens"}) {
    EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM " + std::string(table)).substr(0, 1), "0") << table;
  }
}

TEST_P(AccountsTest, CountsAttemptsByKeyAndSweepsWhatIsOver) {
  add(account("p-1", "runa"));
  begin("s", "p-1");
  const auto attempts = [&] {
    return ask<AttemptRow>([](Transaction& t) { return find_attempts(t, "key"); });
  };
  EXPECT_EQ(attempts().count, 0);
  for (std::int64_t i = 1; i <= 3; ++i) {
    ASSERT_TRUE(write([&](Transaction& t) { return put_attempts(t, "key", {i, test::kNow, ""}); }));
  }
  EXPECT_EQ(attempts().count, 3);
  EXPECT_EQ(attempts().first_at, test::kNow);
  ASSERT_TRUE(write([](Transaction& t) { return sweep_accounts(t, test::kNow); }));
  EXPECT_EQ(attempts().count, 3);
  EXPECT_TRUE(lives("s"));
  ASSERT_TRUE(write([](Transaction& t) { return sweep_accounts(t, "2026-03-11"); }));
  EXPECT_EQ(attempts().count, 0);
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM sessions").substr(0, 1), "0");
  ASSERT_TRUE(write([](Transaction& t) { return put_attempts(t, "key", {1, test::kNow, ""}); }));
  ASSERT_TRUE(write([](Transaction& t) { return clear_attempts(t, "key"); }));
  EXPECT_EQ(attempts().count, 0);
}

}  // namespace
}  // namespace lintel::store
