// Accounts, sessions, API tokens, invitations and attempts to sign in. Of secrets only digests are
// kept (secure/token.h), of passphrases only Argon2id hashes (secure/password.h).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"
#include "view/account.h"

namespace lintel::store {

// ---- Accounts

struct AccountRow {
  view::Account account;
  std::string passphrase_hash;  // empty: none yet
};
// Errors: Conflict when the login is taken (field "login") or the person has an account.
Result<void> insert_account(Transaction& t, const AccountRow& row);
// Writes name, login, role, active and the hash when the kept version is that of `row.account`, and
// counts it up. Errors: Conflict (stale, with both versions; or the login is taken), NotFound.
Result<void> update_account(Transaction& t, const AccountRow& row);
Result<void> note_sign_in(Transaction& t, std::string_view person, std::string_view at);
// The hash alone, made anew with other parameters; no new version. Nothing happens when the kept
// hash is no longer `old_hash`.
Result<void> renew_hash(Transaction& t, std::string_view person, std::string_view old_hash,
                        std::string_view new_hash);

Result<std::optional<AccountRow>> find_account(Transaction& t, std::string_view person);
Result<std::optional<AccountRow>> find_account_by_login(Transaction& t, std::string_view login);
// By name. Errors: Io.
Result<std::vector<view::Account>> list_accounts(Transaction& t, std::string_view organization);
Result<std::int64_t> count_accounts(Transaction& t);
// Ids of the organizations that have accounts, in order.
Result<std::vector<std::string>> list_organizations(Transaction& t);
Result<std::int64_t> count_active_owners(Transaction& t, std::string_view organization);
// Account, sessions, tokens and invitations of one person, as when an athlete is erased. True when
// there was an account.
Result<bool> remove_account(Transaction& t, std::string_view person);

// ---- Sessions

struct SessionRow {
  std::string id, digest, person, created_at, seen_at;
  std::string expires_at;  // absolute
  std::string peer;
};
struct SessionWithAccount {
  SessionRow session;
  view::Account account;
};
Result<void> insert_session(Transaction& t, const SessionRow& session);
// A session that is not over at `now`: neither its end nor the idle time since `seen_at` is past,
// and its person is active.
Result<std::optional<SessionWithAccount>> find_session(Transaction& t, std::string_view digest,
                                                       std::string_view now,
                                                       std::string_view idle_since);
Result<void> touch_session(Transaction& t, std::string_view id, std::string_view seen_at);
// Another secret for the same session.
Result<void> renew_session(Transaction& t, std::string_view id, std::string_view digest);
Result<void> end_session(Transaction& t, std::string_view id);
// Those of a person that are not over, the last used first; without their digests.
Result<std::vector<SessionRow>> list_sessions(Transaction& t, std::string_view person,
                                              std::string_view now, std::string_view idle_since);
// True when the person had it.
Result<bool> end_session_of(Transaction& t, std::string_view person, std::string_view id);
// All of a person but the one named (empty = all).
Result<std::int64_t> end_sessions_of(Transaction& t, std::string_view person,
                                     std::string_view but_not = {});

// ---- API tokens

struct TokenRow {
  view::ApiToken token;
  std::string digest;
};
struct TokenWithAccount {
  view::ApiToken token;
  view::Account account;
};
Result<void> insert_token(Transaction& t, const TokenRow& row);
Result<std::optional<TokenWithAccount>> find_token(Transaction& t, std::string_view digest,
                                                   std::string_view now);
// The newest first, without those that are over at `now`.
Result<std::vector<view::ApiToken>> list_tokens(Transaction& t, std::string_view person,
                                                std::string_view now);
Result<void> touch_token(Transaction& t, std::string_view id, std::string_view used_at);
// True when the person had it.
Result<bool> remove_token(Transaction& t, std::string_view person, std::string_view id);
Result<void> remove_tokens_of(Transaction& t, std::string_view person);

// ---- Invitations: one at most for a person; a new one takes the place of the old

struct InvitationRow {
  std::string digest, person, created_at, expires_at;
};
Result<void> put_invitation(Transaction& t, const InvitationRow& invitation);
// One that is not over at `now`, of an active person.
Result<std::optional<InvitationRow>> find_invitation(Transaction& t, std::string_view digest,
                                                     std::string_view now);
Result<void> remove_invitation_of(Transaction& t, std::string_view person);

// ---- Attempts to sign in, by key: a digest of the login, or of the address

struct AttemptRow {
  std::int64_t count = 0;
  std::string first_at, wait_until;  // the latter may be empty
};
Result<AttemptRow> find_attempts(Transaction& t, std::string_view key);
Result<void> put_attempts(Transaction& t, std::string_view key, const AttemptRow& attempts);
Result<void> clear_attempts(Transaction& t, std::string_view key);

// Takes out sessions, tokens, invitations and attempts that were over before `before`.
Result<void> sweep_accounts(Transaction& t, std::string_view before);

}  // namespace lintel::store
