// First start, sign-in, lock-out, sessions and API tokens, on both engines.
#include <gtest/gtest.h>

#include <thread>

#include "secure/token.h"
#include "support/practice_fixture.h"

namespace lintel::app {
namespace {

using test::expect_value;
using test::kGoodPassphrase;
using test::kOtherPassphrase;

class SignInTest : public test::PracticeTest {};
LINTEL_BOTH_ENGINES(SignInTest);

TEST_P(SignInTest, TheFirstOwnerIsMadeOnceAndOnlyFromTheMachine) {
  EXPECT_TRUE(expect_value(needs_owner(practice())));
  NewOwner far = new_owner();
  far.loopback = false;
  EXPECT_EQ(create_first_owner(practice(), far).error().code, ErrorCode::Denied);
  const SignedIn owner = make_owner();
  EXPECT_EQ(owner.caller.role, Role::Owner);
  EXPECT_EQ(owner.caller.name, "Runa Feldvik");
  EXPECT_FALSE(expect_value(needs_owner(practice())));
  NewOwner second = new_owner();
  second.login = "somebody.else";
  EXPECT_EQ(create_first_owner(practice(), second).error().code, ErrorCode::Conflict);
  EXPECT_EQ(who(owner.cookie).person, owner.caller.person);
  EXPECT_TRUE(sign_in("Runa Feldvik", kGoodPassphrase).session);
}

TEST_P(SignInTest, OfTwoFirstStartsAtOnceOneWins) {
  std::vector<std::thread> starts;
  std::atomic<int> made{0}, refused{0};
  for (int i = 0; i < 4; ++i) {
    starts.emplace_back([&, i] {
      NewOwner owner = new_owner();
      owner.login = "owner" + std::to_string(i);
      const auto result = create_first_owner(practice(), owner);
      (result ? made : refused)++;
      if (!result) {
        EXPECT_EQ(result.error().code, ErrorCode::Conflict) << result.error();
      }
    });
  }
  for (std::thread& start : starts) start.join();
  EXPECT_EQ(made, 1);
  EXPECT_EQ(refused, 3);
}

TEST_P(SignInTest, ABadFirstStartSaysWhichFieldAndLeavesNothing) {
  const auto field = [&](NewOwner owner) {
    const auto result = create_first_owner(practice(), owner);
    return result ? std::string("none") : result.error().place.field;
  };
  NewOwner owner = new_owner();
  owner.name = " ";
  EXPECT_EQ(field(owner), "name");
  owner = new_owner();
  owner.organization = "";
  EXPECT_EQ(field(owner), "organization");
  owner = new_owner();
  owner.passphrase = "short";
  EXPECT_EQ(field(owner), "passphrase");
  owner = new_owner();
  owner.login = "x";
  EXPECT_EQ(field(owner), "login");
  EXPECT_TRUE(expect_value(needs_owner(practice())));
}

TEST_P(SignInTest, RightAndWrong) {
  make_owner();
  const SignInOutcome right = sign_in("runa.feldvik", kGoodPassphrase);
  ASSERT_TRUE(right.session);
  EXPECT_TRUE(who(right.session->cookie).signed_in());
  EXPECT_EQ(who(right.session->cookie).peer, test::kPeer);
  for (const auto& [login, passphrase] :
       std::vector<std::pair<std::string, std::string>>{{"runa.feldvik", kOtherPassphrase},
                                                        {"nobody.here", kGoodPassphrase},
                                                        {"", ""},
                                                        {"runa.feldvik", std::string(5000, 'x')}}) {
    const SignInOutcome wrong = sign_in(login, passphrase);
    EXPECT_FALSE(wrong.session);
    EXPECT_EQ(wrong.wait_s, 0);
  }
}

TEST_P(SignInTest, NothingIsKeptFromWhichOneCouldSignIn) {
  const SignedIn owner = make_owner();
  const TokenWithSecret token = expect_value(add_token(practice(), owner.caller, {"t", {}, ""}));
  NewPerson invited;
  invited.name = "Eskil Moen";
  invited.role = Role::Practitioner;
  const PersonWithInvitation person = expect_value(add_person(practice(), owner.caller, invited));
  std::string everything;
  for (const char* table : {"accounts", "sessions", "api_tokens", "invitations", "audit_trail"}) {
    everything += ask_outside("SELECT * FROM " + std::string(table));
  }
  EXPECT_NE(everything.find(secure::secret_digest(owner.cookie)), std::string::npos);
  for (const std::string& secret : {owner.cookie, owner.csrf_token, token.secret, person.invitation,
                                    std::string(kGoodPassphrase)}) {
    EXPECT_EQ(everything.find(secret), std::string::npos);
  }
}

// ---- Lock-out

TEST_P(SignInTest, FiveWrongAttemptsLockWithAGrowingWait) {
  make_owner();
  for (int i = 0; i < 5; ++i) EXPECT_EQ(sign_in("runa.feldvik", "wrong").wait_s, 0) << i;
  // Now even the right one has to wait, so that a guesser learns nothing meanwhile.
  EXPECT_EQ(sign_in("runa.feldvik", kGoodPassphrase).wait_s, 30);
  pass(29);
  EXPECT_EQ(sign_in("runa.feldvik", kGoodPassphrase).wait_s, 1);
  for (const std::int64_t wait : {60, 120, 240, 480, 900, 900}) {
    pass(901);
    EXPECT_EQ(sign_in("runa.feldvik", "wrong").wait_s, 0);
    EXPECT_EQ(sign_in("runa.feldvik", "wrong").wait_s, wait);
  }
  pass(901);
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
  // Success wipes the count out.
  for (int i = 0; i < 4; ++i) EXPECT_EQ(sign_in("runa.feldvik", "wrong").wait_s, 0);
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
}

TEST_P(SignInTest, TheCountIsForgottenAfterADay) {
  make_owner();
  for (int i = 0; i < 4; ++i) sign_in("runa.feldvik", "wrong");
  pass(24 * 3600);
  for (int i = 0; i < 4; ++i) EXPECT_EQ(sign_in("runa.feldvik", "wrong").wait_s, 0);
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
}

// Step by step, a login that nobody has answers as one that somebody has.
TEST_P(SignInTest, LockOutDoesNotTellWhetherALoginExists) {
  make_owner();
  for (int i = 0; i < 12; ++i) {
    const SignInOutcome known = sign_in("runa.feldvik", "wrong", "192.0.2.1");
    const SignInOutcome unknown = sign_in("nobody.here", "wrong", "192.0.2.2");
    EXPECT_EQ(known.wait_s, unknown.wait_s) << i;
    EXPECT_FALSE(known.session || unknown.session);
    if (i % 3 == 2) pass(100);
  }
}

TEST_P(SignInTest, AZeroByteInTheLoginIsNoWayAroundTheLimit) {
  make_owner();
  for (const char* end : {"", "x", "\x01"}) {
    std::string login = "runa.feldvik";
    login += '\0';
    EXPECT_FALSE(sign_in(login + end, kGoodPassphrase).session);
  }
  EXPECT_FALSE(sign_in("runa.feldvik" + std::string(5000, 'x'), kGoodPassphrase).session);
  EXPECT_TRUE(sign_in("runa.feldvik\n", kGoodPassphrase).session);
}

TEST_P(SignInTest, OneLockedLoginDoesNotLockAnother) {
  const SignedIn owner = make_owner();
  add(owner.caller, Role::Practitioner, "eskil");
  for (int i = 0; i < 5; ++i) sign_in("eskil", "wrong");
  EXPECT_GT(sign_in("eskil", "wrong").wait_s, 0);
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
}

TEST_P(SignInTest, ManyLoginsFromOneAddressLockTheAddress) {
  make_owner();
  for (int i = 0; i < 60; ++i) EXPECT_EQ(sign_in("guess" + std::to_string(i), "wrong").wait_s, 0);
  EXPECT_EQ(sign_in("guess60", "wrong").wait_s, 60);
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase, "192.0.2.99").session);
  pass(61);
  // A success gives the address one attempt back, not all of them.
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
  EXPECT_EQ(sign_in("guess61", "wrong").wait_s, 0);
  EXPECT_GT(sign_in("guess62", "wrong").wait_s, 0);
}

// Attempts count before their outcome is known: many at once gain nothing.
TEST_P(SignInTest, AttemptsAtOnceAreNoWayAroundTheLimit) {
  make_owner();
  std::vector<std::thread> guesses;
  std::atomic<int> looked_at{0};
  for (int i = 0; i < 12; ++i) {
    guesses.emplace_back([&] {
      if (sign_in("runa.feldvik", "wrong").wait_s == 0) ++looked_at;
    });
  }
  for (std::thread& guess : guesses) guess.join();
  EXPECT_EQ(looked_at, 5);
}

// ---- Sessions

TEST_P(SignInTest, ASessionHasASecretOfItsOwnAndEndsTheOneBefore) {
  const SignedIn first = make_owner();
  SignInRequest request;
  request.login = "runa.feldvik";
  request.passphrase = kGoodPassphrase;
  request.old_cookie = first.cookie;
  const auto second = expect_value(app::sign_in(practice(), request)).session;
  ASSERT_TRUE(second);
  EXPECT_NE(second->cookie, first.cookie);
  EXPECT_FALSE(who(first.cookie).signed_in());
  EXPECT_TRUE(who(second->cookie).signed_in());
  // A secret that somebody planted is never taken over.
  request.old_cookie = "planted-by-somebody-else";
  const auto third = expect_value(app::sign_in(practice(), request)).session;
  EXPECT_NE(third->cookie, request.old_cookie);
  EXPECT_FALSE(who("planted-by-somebody-else").signed_in());
}

TEST_P(SignInTest, ASessionEndsWhenIdleAndAtTheLatestAfterAWeek) {
  const SignedIn owner = make_owner();
  pass(kSessionIdle_s - 1);
  EXPECT_TRUE(who(owner.cookie).signed_in());  // used: the idle time begins anew
  pass(kSessionIdle_s - 1);
  EXPECT_TRUE(who(owner.cookie).signed_in());
  pass(kSessionIdle_s + 1);
  EXPECT_FALSE(who(owner.cookie).signed_in());
  const SignInOutcome again = sign_in("runa.feldvik", kGoodPassphrase);
  const double step = kSessionIdle_s / 2.0;
  for (double at = step; at < kSessionAbsolute_s; at += step) {
    pass(step);
    ASSERT_TRUE(who(again.session->cookie).signed_in()) << at;
  }
  pass(step);
  EXPECT_FALSE(who(again.session->cookie).signed_in());
}

TEST_P(SignInTest, SignOutEndsTheSession) {
  const SignedIn owner = make_owner();
  const SignInOutcome other = sign_in("runa.feldvik", kGoodPassphrase);
  ASSERT_TRUE(app::sign_out(practice(), owner.caller));
  EXPECT_FALSE(who(owner.cookie).signed_in());
  EXPECT_TRUE(who(other.session->cookie).signed_in());
}

TEST_P(SignInTest, ANewPassphraseEndsAllOtherSessions) {
  const SignedIn owner = make_owner();
  const SignInOutcome other = sign_in("runa.feldvik", kGoodPassphrase);
  const auto wrong = change_passphrase(practice(), owner.caller, "wrong", kOtherPassphrase);
  ASSERT_FALSE(wrong);
  EXPECT_EQ(wrong.error().code, ErrorCode::Denied);
  EXPECT_EQ(wrong.error().place.field, "old");
  const auto weak = change_passphrase(practice(), owner.caller, kGoodPassphrase, "aaaaaaaaaaaa");
  ASSERT_FALSE(weak);
  EXPECT_EQ(weak.error().code, ErrorCode::Invalid);
  EXPECT_TRUE(who(other.session->cookie).signed_in());
  const SignedIn fresh =
      expect_value(change_passphrase(practice(), owner.caller, kGoodPassphrase, kOtherPassphrase));
  EXPECT_TRUE(who(fresh.cookie).signed_in());
  EXPECT_FALSE(who(owner.cookie).signed_in());
  EXPECT_FALSE(who(other.session->cookie).signed_in());
  EXPECT_FALSE(sign_in("runa.feldvik", kGoodPassphrase).session);
  EXPECT_TRUE(sign_in("runa.feldvik", kOtherPassphrase).session);
}

TEST_P(SignInTest, AStolenSessionCannotGuessThePassphraseFasterThanAStranger) {
  const SignedIn owner = make_owner();
  for (int i = 0; i < 5; ++i) {
    EXPECT_EQ(
        change_passphrase(practice(), owner.caller, "wrong", kOtherPassphrase).error().message,
        "the current passphrase is not right");
  }
  const auto locked =
      change_passphrase(practice(), owner.caller, kGoodPassphrase, kOtherPassphrase);
  ASSERT_FALSE(locked);
  EXPECT_EQ(locked.error().message, "too many attempts");
}

TEST_P(SignInTest, AHashIsMadeAnewWhenTheCostHasRisen) {
  make_owner();
  const std::string before = ask_outside("SELECT passphrase_hash FROM accounts");
  practice().passphrase_cost.memory_kib = 16;
  ASSERT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
  const std::string after = ask_outside("SELECT passphrase_hash FROM accounts");
  EXPECT_NE(before.find("$m=8,"), std::string::npos) << before;
  EXPECT_NE(after.find("$m=16,"), std::string::npos) << after;
  EXPECT_TRUE(sign_in("runa.feldvik", kGoodPassphrase).session);
  EXPECT_EQ(ask_outside("SELECT passphrase_hash FROM accounts"), after);
}

TEST_P(SignInTest, TheWriteTokenFollowsFromTheCookieAndFitsNoOther) {
  const SignedIn owner = make_owner();
  const SignInOutcome other = sign_in("runa.feldvik", kGoodPassphrase);
  EXPECT_EQ(who(owner.cookie).write_token, owner.csrf_token);
  EXPECT_TRUE(csrf_token_fits(owner.cookie, owner.csrf_token));
  EXPECT_FALSE(csrf_token_fits(owner.cookie, other.session->csrf_token));
  EXPECT_FALSE(csrf_token_fits(owner.cookie, ""));
  EXPECT_FALSE(csrf_token_fits("", csrf_token_of("")));
  EXPECT_NE(owner.csrf_token.find_first_not_of(owner.cookie), std::string::npos);
}

// ---- API tokens

TEST_P(SignInTest, ATokenActsForItsPersonWithinItsScopes) {
  const SignedIn owner = make_owner();
  const TokenWithSecret token =
      expect_value(add_token(practice(), owner.caller, {"sheet", {"read_records"}, ""}));
  EXPECT_EQ(token.secret.rfind("lnt_", 0), 0u);
  const Caller caller = who("", token.secret);
  EXPECT_EQ(caller.person, owner.caller.person);
  EXPECT_TRUE(caller.by_token);
  EXPECT_TRUE(caller.has(Permission::ReadRecords));
  EXPECT_FALSE(caller.has(Permission::WriteRecords));
  EXPECT_FALSE(caller.has(Permission::Administer));
  // No way from a token to more than the token.
  for (const Result<void>& refused :
       {app::sign_out(practice(), caller), end_token(practice(), caller, token.token.id)}) {
    EXPECT_EQ(refused.error().code, ErrorCode::Denied);
  }
  EXPECT_EQ(add_token(practice(), caller, {"more", {}, ""}).error().code, ErrorCode::Denied);
  const TokenWithSecret all = expect_value(add_token(practice(), owner.caller, {"all", {}, ""}));
  const Caller everything = who("", all.secret);
  EXPECT_TRUE(everything.has(Permission::Administer));
  EXPECT_EQ(add_token(practice(), everything, {"more", {}, ""}).error().code, ErrorCode::Denied);
  EXPECT_EQ(
      change_passphrase(practice(), everything, kGoodPassphrase, kOtherPassphrase).error().code,
      ErrorCode::Denied);
}

// Where a bearer is sent the cookie must not count: such a request needs no write token.
TEST_P(SignInTest, ABadBearerIsNotHelpedByAGoodCookie) {
  const SignedIn owner = make_owner();
  EXPECT_FALSE(who(owner.cookie, "lnt_wrong").signed_in());
  EXPECT_FALSE(who("", owner.cookie).signed_in());  // a cookie is no bearer
}

TEST_P(SignInTest, ATokenEndsOnItsDayOrWhenToldTo) {
  const SignedIn owner = make_owner();
  const auto secret_until = [&](const std::string& day) {
    return expect_value(add_token(practice(), owner.caller, {"t", {}, day}));
  };
  const TokenWithSecret usual = secret_until(""), soon = secret_until("2026-03-10"),
                        ended = secret_until("2026-04-01T00:00:00Z");
  EXPECT_EQ(soon.token.expires_at, "2026-03-10T23:59:59.000Z");
  ASSERT_TRUE(end_token(practice(), owner.caller, ended.token.id));
  EXPECT_EQ(end_token(practice(), owner.caller, ended.token.id).error().code, ErrorCode::NotFound);
  EXPECT_FALSE(who("", ended.secret).signed_in());
  EXPECT_TRUE(who("", soon.secret).signed_in());
  EXPECT_EQ(expect_value(list_tokens(practice(), owner.caller)).size(), 2u);
  pass(2 * 24 * 3600);
  EXPECT_FALSE(who("", soon.secret).signed_in());
  EXPECT_TRUE(who("", usual.secret).signed_in());
  pass(89 * 24 * 3600.0);
  EXPECT_FALSE(who("", usual.secret).signed_in());
}

TEST_P(SignInTest, ATokenIsRefusedWhereItCouldDoHarm) {
  const SignedIn owner = make_owner();
  add(owner.caller, Role::Reviewer, "liv");
  const Caller reviewer = sign_in("liv", kGoodPassphrase).session->caller;
  const auto field = [&](const Caller& caller, const NewToken& token) {
    const auto result = add_token(practice(), caller, token);
    return result ? std::string("none") : result.error().place.field;
  };
  EXPECT_EQ(field(owner.caller, {"", {}, ""}), "name");
  EXPECT_EQ(field(owner.caller, {"t", {"everything"}, ""}), "scopes");
  EXPECT_EQ(field(owner.caller, {"t", {"none"}, ""}), "scopes");
  EXPECT_EQ(field(reviewer, {"t", {"write_records"}, ""}), "scopes");
  EXPECT_EQ(field(reviewer, {"t", {"read_records"}, ""}), "none");
  EXPECT_EQ(field(owner.caller, {"t", {}, "tomorrow"}), "expires_at");
  EXPECT_EQ(field(owner.caller, {"t", {}, "2026-03-08"}), "expires_at");
  EXPECT_EQ(field(owner.caller, {"t", {}, "2028-03-09"}), "expires_at");
  // Another person's token cannot be ended.
  const TokenWithSecret token = expect_value(add_token(practice(), owner.caller, {"t", {}, ""}));
  EXPECT_EQ(end_token(practice(), reviewer, token.token.id).error().code, ErrorCode::NotFound);
}

// A scope that a later program no longer knows must not turn into "all of the role".
TEST_P(SignInTest, ATokenWithUnknownScopesAloneDoesNothing) {
  const SignedIn owner = make_owner();
  const TokenWithSecret token =
      expect_value(add_token(practice(), owner.caller, {"t", {"compute"}, ""}));
  ask_outside("UPDATE api_tokens SET scopes = 'gone_by_now'");
  EXPECT_FALSE(who("", token.secret).signed_in());
}

}  // namespace
}  // namespace lintel::app
