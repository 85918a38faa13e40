// Inside app/: what a login, a name and a passphrase must be, and how a session begins.
#pragma once

#include <string>
#include <string_view>

#include "app/accounts.h"
#include "base/result.h"
#include "store/accounts.h"

namespace lintel::app {

// The form in which logins are kept and compared: without spaces at the ends, ASCII letters in
// lower case, spaces inside as points ("Runa Feldvik" and "runa.feldvik" are the same).
std::string login_form(std::string_view text);
// 2 to 100 bytes of UTF-8 without control characters, in login_form. Errors: Invalid ("login").
Result<std::string> checked_login(std::string_view text);
// Without spaces at the ends, 1 to 200 bytes. Errors: Invalid with `field`.
Result<std::string> checked_name(std::string_view text, std::string field);

// A new passphrase: 12 characters to 1024 bytes, not one of the well-known ones, not a run or a
// repeated letter, not the login or a name. No rule about kinds of letters: length counts.
// Errors: Invalid ("passphrase").
Result<void> check_account_passphrase(std::string_view passphrase,
                                      std::initializer_list<std::string_view> known_words);

Error invalid_field(std::string field, std::string message, std::string mend = {});

Caller caller_of(const view::Account& account);

// A session that is yet to be written, with its secret.
struct NewSession {
  store::SessionRow row;
  SignedIn signed_in;
};
NewSession new_session(const view::Account& account, std::string_view now, std::string_view peer);

inline constexpr std::int64_t kInvitation_s = 7 * 24 * 3600;
struct NewInvitation {
  store::InvitationRow row;
  std::string secret;
};
NewInvitation new_invitation(std::string_view person, std::string_view now);

// Under which the attempts at a login are counted.
std::string login_attempts_key(std::string_view login);

// Errors: Denied for an API token: what changes how one gets in needs a session.
Result<void> require_session(const Caller& caller);

}  // namespace lintel::app
