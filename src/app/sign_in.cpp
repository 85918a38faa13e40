// Sign-in and what goes with it: attempts, lock-out, sign-out, change of the passphrase.
#include <algorithm>
#include <cmath>

#include "app/account_rules.h"
#include "app/accounts.h"
#include "app/audit.h"
#include "base/instant.h"
#include "secure/passphrase.h"
#include "secure/token.h"

namespace lintel::app {
namespace {

using store::AttemptRow;
using store::Transaction;

// How many attempts are free within the window, and how long the next one then has to wait: the
// first wait, doubled each time, up to the longest.
struct AttemptRule {
  std::int64_t free = 0;
  double window_s = 0, first_wait_s = 0, longest_wait_s = 0;
};
// A login: five slips of the finger; a guesser then gets some 100 attempts a day.
constexpr AttemptRule kLoginRule{5, 24 * 3600.0, 30, 15 * 60.0};
// An address, whatever the logins: a club's tablets may share one.
constexpr AttemptRule kPeerRule{60, 10 * 60.0, 60, 10 * 60.0};

std::string peer_key(std::string_view peer) {
  return secure::secret_digest("peer:" + std::string(peer));
}

// Seconds until `until`, rounded up; 0 when it is past.
std::int64_t seconds_to(std::string_view until, std::string_view now) {
  const Result<std::int64_t> end = parse_instant(until), start = parse_instant(now);
  if (!end || !start || *end <= *start) return 0;
  return (*end - *start + 999) / 1000;
}

AttemptRow counted(AttemptRow row, const AttemptRule& rule, std::string_view now) {
  if (row.count == 0 || instant_after(row.first_at, rule.window_s) <= now) {
    row = {0, std::string(now), ""};
  }
  ++row.count;
  if (row.count >= rule.free) {
    const double doubled = std::ldexp(
        rule.first_wait_s, static_cast<int>(std::min<std::int64_t>(row.count - rule.free, 20)));
    row.wait_until = instant_after(now, std::min(doubled, rule.longest_wait_s));
  }
  return row;
}

// Counts one attempt before it is known how it ends, so that many at once gain nothing. Answers
// the seconds to wait; then nothing was counted.
Result<std::int64_t> reserve_attempt(Practice& practice, std::string_view login,
                                     std::string_view peer) {
  const std::string now = practice.now();
  return store::write_value<std::int64_t>(
      *practice.database, [&](Transaction& t) -> Result<std::int64_t> {
        const AttemptRow by_login = LINTEL_TRY(store::find_attempts(t, login_attempts_key(login)));
        const AttemptRow by_peer = LINTEL_TRY(store::find_attempts(t, peer_key(peer)));
        const std::int64_t wait =
            std::max(seconds_to(by_login.wait_until, now), seconds_to(by_peer.wait_until, now));
        if (wait > 0) return wait;
        LINTEL_TRY_VOID(
            store::put_attempts(t, login_attempts_key(login), counted(by_login, kLoginRule, now)));
        LINTEL_TRY_VOID(store::put_attempts(t, peer_key(peer), counted(by_peer, kPeerRule, now)));
        return std::int64_t{0};
      });
}

// After success: the login starts anew; the address gets its one attempt back and no more, or
// somebody with an account could wipe out the guesses at another's.
Result<void> settle_attempts(Transaction& t, std::string_view login, std::string_view peer) {
  LINTEL_TRY_VOID(store::clear_attempts(t, login_attempts_key(login)));
  AttemptRow by_peer = LINTEL_TRY(store::find_attempts(t, peer_key(peer)));
  if (by_peer.count <= 1) return store::clear_attempts(t, peer_key(peer));
  --by_peer.count;
  by_peer.wait_until.clear();  // it was over, or this attempt would not have been let in
  return store::put_attempts(t, peer_key(peer), by_peer);
}

// The same work whether there is an account or not, so that the time tells nothing.
Result<bool> passphrase_is_right(const Practice& practice,
                                 const std::optional<store::AccountRow>& row,
                                 std::string_view passphrase) {
  if (passphrase.size() > secure::Passphrase::kLongest) return false;
  if (row && !row->passphrase_hash.empty()) {
    return secure::passphrase_fits(row->passphrase_hash, passphrase) && row->account.active;
  }
  LINTEL_TRY(secure::hash_passphrase(passphrase, practice.passphrase_cost));
  return false;
}

Result<void> note_failure(Practice& practice, const std::optional<store::AccountRow>& row,
                          std::string_view peer) {
  return practice.database->write([&](Transaction& t) -> Result<void> {
    Caller caller;
    caller.peer = std::string(peer);
    if (row) caller.organization = row->account.organization;
    // Somebody tried, but it may not have been that person: the person stands as the record.
    return note_change(t, practice, caller,
                       {"sign_in_failed", row ? std::string_view(row->account.person) : ""});
  });
}

// Everything of a successful sign-in in one transaction. False when the account was changed since
// its hash was read.
Result<bool> write_sign_in(Transaction& t, const Practice& practice, const SignInRequest& request,
                           const store::AccountRow& row, const NewSession& session,
                           const std::string& new_hash) {
  const std::string& person = row.account.person;
  const auto current = LINTEL_TRY(store::find_account(t, person));
  if (!current || !current->account.active || current->passphrase_hash != row.passphrase_hash) {
    return false;
  }
  LINTEL_TRY_VOID(settle_attempts(t, row.account.login, request.peer));
  const std::string& now = session.row.created_at;
  if (!request.old_cookie.empty()) {
    const auto old =
        LINTEL_TRY(store::find_session(t, secure::secret_digest(request.old_cookie), now, ""));
    if (old) LINTEL_TRY_VOID(store::end_session(t, old->session.id));
  }
  LINTEL_TRY_VOID(store::sweep_accounts(t, instant_after(now, -kLoginRule.window_s)));
  LINTEL_TRY_VOID(store::insert_session(t, session.row));
  LINTEL_TRY_VOID(store::note_sign_in(t, person, now));
  if (!new_hash.empty()) {
    LINTEL_TRY_VOID(store::renew_hash(t, person, row.passphrase_hash, new_hash));
  }
  LINTEL_TRY_VOID(note_change(t, practice, session.signed_in.caller, {"sign_in", person}));
  return true;
}

}  // namespace

Result<SignInOutcome> sign_in(Practice& practice, const SignInRequest& request) {
  SignInOutcome outcome;
  // What cannot be a login is nobody's. A zero byte would even end the text on its way into the
  // database, and such logins would be counted apart from the one that they then find.
  const std::string login = checked_login(request.login).value_or("");
  outcome.wait_s = LINTEL_TRY(reserve_attempt(practice, login, request.peer));
  if (outcome.wait_s > 0) return outcome;
  const auto row = LINTEL_TRY(store::read_value<std::optional<store::AccountRow>>(
      *practice.database, [&](Transaction& t) { return store::find_account_by_login(t, login); }));
  if (!LINTEL_TRY(passphrase_is_right(practice, row, request.passphrase))) {
    LINTEL_TRY_VOID(note_failure(practice, row, request.peer));
    return outcome;
  }
  std::string new_hash;
  if (secure::needs_new_hash(row->passphrase_hash, practice.passphrase_cost)) {
    new_hash = LINTEL_TRY(secure::hash_passphrase(request.passphrase, practice.passphrase_cost));
  }
  const NewSession session = new_session(row->account, practice.now(), request.peer);
  const bool signed_in =
      LINTEL_TRY(store::write_value<bool>(*practice.database, [&](Transaction& t) -> Result<bool> {
        return write_sign_in(t, practice, request, *row, session, new_hash);
      }));
  if (signed_in) outcome.session = session.signed_in;
  return outcome;
}

Result<void> sign_out(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require_session(caller));
  return practice.database->write([&](Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(store::end_session(t, caller.session));
    return note_change(t, practice, caller, {"sign_out", caller.person});
  });
}

Result<SignedIn> change_passphrase(Practice& practice, const Caller& caller,
                                   std::string_view current, std::string_view fresh) {
  LINTEL_TRY_VOID(require_session(caller));
  auto row = LINTEL_TRY(store::read_value<std::optional<store::AccountRow>>(
      *practice.database, [&](Transaction& t) { return store::find_account(t, caller.person); }));
  if (!row) return fail(ErrorCode::NotFound, "there is no such person");
  LINTEL_TRY_VOID(check_account_passphrase(fresh, {row->account.login, row->account.name}));
  // A stolen session must not guess faster than a stranger.
  const std::int64_t wait = LINTEL_TRY(reserve_attempt(practice, row->account.login, caller.peer));
  if (wait > 0) {
    return fail(ErrorCode::Denied, "too many attempts",
                "try again in " + std::to_string(wait) + " seconds");
  }
  if (!LINTEL_TRY(passphrase_is_right(practice, row, current))) {
    Error error{ErrorCode::Denied, "the current passphrase is not right", {}, "try again", {}};
    error.place.field = "old";
    return fail(error);
  }
  row->passphrase_hash = LINTEL_TRY(secure::hash_passphrase(fresh, practice.passphrase_cost));
  row->account.changed_at = practice.now();
  NewSession session = new_session(row->account, practice.now(), caller.peer);
  const auto write = [&](Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(settle_attempts(t, row->account.login, caller.peer));
    LINTEL_TRY_VOID(store::update_account(t, *row));
    LINTEL_TRY(store::end_sessions_of(t, caller.person, ""));
    LINTEL_TRY_VOID(store::insert_session(t, session.row));
    return note_change(t, practice, caller, {"passphrase_changed", caller.person});
  };
  LINTEL_TRY_VOID(practice.database->write(write));
  return session.signed_in;
}

}  // namespace lintel::app
