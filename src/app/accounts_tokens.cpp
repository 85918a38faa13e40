// Personal API tokens.
#include <algorithm>

#include "app/account_rules.h"
#include "app/accounts.h"
#include "app/audit.h"
#include "base/instant.h"
#include "secure/random.h"
#include "secure/token.h"

namespace lintel::app {
namespace {

using store::Transaction;

constexpr const char* kPrefix = "lnt";  // "lnt_...": so that a secret in a file can be told
constexpr std::size_t kMostTokens = 50;
constexpr double kDay_s = 24 * 3600.0;
constexpr double kUsualLife_s = 90 * kDay_s;
constexpr double kLongestLife_s = 366 * kDay_s;

Result<void> check_scopes(const Caller& caller, const std::vector<std::string>& scopes) {
  for (const std::string& scope : scopes) {
    const auto permission = permission_from(scope);
    if (!permission || *permission == Permission::None) {
      return fail(invalid_field("scopes", "there is no scope \"" + scope.substr(0, 40) + "\"",
                                "take names of permissions, such as \"read_records\""));
    }
    if (!may(caller.role, *permission)) {
      return fail(invalid_field(
          "scopes",
          "\"" + scope + "\" is not part of the role " + std::string(role_name(caller.role)),
          "leave it out"));
    }
  }
  return {};
}

// A day means its end. Errors: Invalid ("expires_at").
Result<std::string> end_of(const std::string& asked, const std::string& now) {
  if (asked.empty()) return instant_after(now, kUsualLife_s);
  const bool day = asked.size() == std::string_view("2026-03-09").size();
  const Result<std::int64_t> end = parse_instant(day ? asked + "T23:59:59Z" : asked);
  if (!end) {
    return fail(invalid_field("expires_at", "this is neither a day nor an instant",
                              "write 2026-03-09 or 2026-03-09T18:00:00Z"));
  }
  std::string text = instant_text(*end);
  if (text <= now || text > instant_after(now, kLongestLife_s)) {
    return fail(invalid_field("expires_at", "a token ends after now and within 366 days",
                              "choose a day in that time"));
  }
  return text;
}

}  // namespace

Result<TokenWithSecret> add_token(Practice& practice, const Caller& caller, const NewToken& token) {
  LINTEL_TRY_VOID(require_session(caller));
  TokenWithSecret out;
  view::ApiToken& row = out.token;
  row.name = LINTEL_TRY(checked_name(token.name, "name"));
  LINTEL_TRY_VOID(check_scopes(caller, token.scopes));
  row.scopes = token.scopes;
  std::sort(row.scopes.begin(), row.scopes.end());
  row.scopes.erase(std::unique(row.scopes.begin(), row.scopes.end()), row.scopes.end());
  row.id = secure::random_id();
  row.person = caller.person;
  row.created_at = practice.now();
  row.expires_at = LINTEL_TRY(end_of(token.expires_at, row.created_at));
  out.secret = secure::new_secret(kPrefix);
  const std::string digest = secure::secret_digest(out.secret);
  const auto write = [&](Transaction& t) -> Result<void> {
    const auto known = LINTEL_TRY(store::list_tokens(t, caller.person, row.created_at));
    if (known.size() >= kMostTokens) {
      return fail(ErrorCode::Limit, "there are 50 tokens already", "end one that is not used");
    }
    LINTEL_TRY_VOID(store::insert_token(t, {row, digest}));
    return note_change(t, practice, caller, {"token_made", row.id});
  };
  LINTEL_TRY_VOID(practice.database->write(write));
  return out;
}

Result<std::vector<view::ApiToken>> list_tokens(Practice& practice, const Caller& caller) {
  LINTEL_TRY_VOID(require(caller, Permission::SignedIn));
  const std::string now = practice.now();
  return store::read_value<std::vector<view::ApiToken>>(*practice.database, [&](Transaction& t) {
    return store::list_tokens(t, caller.person, now);
  });
}

Result<void> end_token(Practice& practice, const Caller& caller, std::string_view token) {
  LINTEL_TRY_VOID(require_session(caller));
  return practice.database->write([&](Transaction& t) -> Result<void> {
    if (!LINTEL_TRY(store::remove_token(t, caller.person, token))) {
      return fail(ErrorCode::NotFound, "there is no such token", "look at the list again");
    }
    return note_change(t, practice, caller, {"token_ended", token});
  });
}

}  // namespace lintel::app
