#include "app/account_rules.h"

#include <algorithm>
#include <array>
#include <set>

#include "base/instant.h"
#include "secure/passphrase.h"
#include "secure/random.h"
#include "secure/token.h"

namespace lintel::app {
namespace {

constexpr std::size_t kShortestLogin = 2;
constexpr std::size_t kLongestLogin = 100;
constexpr std::size_t kLongestName = 200;
constexpr std::size_t kFewestDifferentBytes = 5;

// Long ones that many people take; common knowledge, no list of anybody's copied.
constexpr std::array<std::string_view, 12> kWellKnown = {
    "passwordpassword", "passphrasepassphrase", "password1234",   "password12345",
    "password123456",   "administrator",        "letmeinletmein", "qwertyuiop12",
    "qwertyuiop123",    "qwertzuiop123",        "iloveyou12345",  "correct horse battery staple"};

bool is_space(char c) {
  return c == ' ' || c == '\t' || c == '\r' || c == '\n';
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && is_space(text.front())) text.remove_prefix(1);
  while (!text.empty() && is_space(text.back())) text.remove_suffix(1);
  return text;
}

std::string lower_case(std::string_view text) {
  std::string out(text);
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return out;
}

bool has_control_characters(std::string_view text) {
  return std::any_of(text.begin(), text.end(),
                     [](char c) { return static_cast<unsigned char>(c) < 0x20 || c == 0x7F; });
}

// Bytes that begin a character of UTF-8.
std::size_t characters_in(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

// "abcdefghijkl", "987654321098": each letter follows the one before.
bool is_a_run(std::string_view text) {
  const auto steps_by = [&](int step) {
    for (std::size_t i = 1; i < text.size(); ++i) {
      const int change = text[i] - text[i - 1];
      if (change != step && change != -9 * step) return false;  // 9 to 0 goes on
    }
    return true;
  };
  return steps_by(1) || steps_by(-1);
}

}  // namespace

Error invalid_field(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return error;
}

std::string login_form(std::string_view text) {
  std::string out;
  bool space = false;
  for (const char c : lower_case(trimmed(text))) {
    if (is_space(c)) {
      space = true;
      continue;
    }
    if (space) out += '.';
    space = false;
    out += c;
  }
  return out;
}

Result<std::string> checked_login(std::string_view text) {
  std::string login = login_form(text);
  if (login.size() < kShortestLogin || login.size() > kLongestLogin ||
      has_control_characters(login)) {
    return fail(invalid_field("login", "a login has 2 to 100 letters",
                              "take an e-mail address, or the name with a point in it"));
  }
  return login;
}

Result<std::string> checked_name(std::string_view text, std::string field) {
  const std::string_view name = trimmed(text);
  if (name.empty() || name.size() > kLongestName || has_control_characters(name)) {
    return fail(invalid_field(std::move(field), "a name has 1 to 200 letters", "enter a name"));
  }
  return std::string(name);
}

Result<void> check_account_passphrase(std::string_view passphrase,
                                      std::initializer_list<std::string_view> known_words) {
  const auto weak = [](std::string message) {
    return fail(invalid_field(
        "passphrase", std::move(message),
        "four or more words that do not belong together are good and can be remembered"));
  };
  if (characters_in(passphrase) < secure::Passphrase::kShortest) {
    return weak("the passphrase has fewer than 12 characters");
  }
  if (passphrase.size() > secure::Passphrase::kLongest) {
    return weak("the passphrase is longer than 1024 bytes");
  }
  const std::string lower = lower_case(passphrase);
  if (std::set<char>(lower.begin(), lower.end()).size() < kFewestDifferentBytes ||
      is_a_run(lower)) {
    return weak("the passphrase is a repetition or a run of letters");
  }
  if (std::find(kWellKnown.begin(), kWellKnown.end(), lower) != kWellKnown.end()) {
    return weak("the passphrase is one that everybody tries first");
  }
  for (const std::string_view word : known_words) {
    if (!word.empty() && login_form(lower) == login_form(word)) {
      return weak("the passphrase is a name that is written elsewhere");
    }
  }
  return {};
}

Caller caller_of(const view::Account& account) {
  Caller caller;
  caller.person = account.person;
  caller.organization = account.organization;
  caller.name = account.name;
  caller.role = role_from(account.role).value_or(Role::Athlete);  // the CHECK of the table holds
  return caller;
}

NewSession new_session(const view::Account& account, std::string_view now, std::string_view peer) {
  NewSession session;
  SignedIn& out = session.signed_in;
  out.cookie = secure::new_secret();
  out.csrf_token = csrf_token_of(out.cookie);
  out.expires_at = instant_after(now, static_cast<double>(kSessionAbsolute_s));
  store::SessionRow& row = session.row;
  row.id = secure::random_id();
  row.digest = secure::secret_digest(out.cookie);
  row.person = account.person;
  row.created_at = row.seen_at = std::string(now);
  row.expires_at = out.expires_at;
  row.peer = std::string(peer);
  out.caller = caller_of(account);
  out.caller.session = row.id;
  out.caller.write_token = out.csrf_token;
  out.caller.peer = row.peer;
  return session;
}

NewInvitation new_invitation(std::string_view person, std::string_view now) {
  NewInvitation invitation;
  invitation.secret = secure::new_secret();
  invitation.row.digest = secure::secret_digest(invitation.secret);
  invitation.row.person = std::string(person);
  invitation.row.created_at = std::string(now);
  invitation.row.expires_at = instant_after(now, static_cast<double>(kInvitation_s));
  return invitation;
}

std::string login_attempts_key(std::string_view login) {
  return secure::secret_digest("login:" + std::string(login));
}

Result<void> require_session(const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::SignedIn));
  if (!caller.by_token) return {};
  return fail(ErrorCode::Denied, "an API token cannot change how somebody signs in",
              "sign in with the passphrase and do it there");
}

}  // namespace lintel::app
