// Sessions, API tokens and invitations: what hangs on an account and comes to an end.
#include <sstream>

#include "store/accounts.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

using view::ApiToken;

std::string joined(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) text += (text.empty() ? "" : " ") + word;
  return text;
}

std::vector<std::string> words_of(const std::string& text) {
  std::istringstream in(text);
  std::vector<std::string> words;
  for (std::string word; in >> word;) words.push_back(word);
  return words;
}

// The few columns of an account that a request needs.
constexpr const char* kCallerColumns = "a.organization, a.name, a.login, a.role, a.version";

}  // namespace

// ---- Sessions

Result<void> insert_session(Transaction& t, const SessionRow& s) {
  return run_sql(t, "beginning a session", [&](soci::session& sql) {
    sql << "INSERT INTO sessions (id, digest, person, created_at, seen_at, expires_at, peer) "
           "VALUES "
           "(:id, :digest, :person, :created_at, :seen_at, :expires_at, :peer)",
        soci::use(s.id, "id"), soci::use(s.digest, "digest"), soci::use(s.person, "person"),
        soci::use(s.created_at, "created_at"), soci::use(s.seen_at, "seen_at"),
        soci::use(s.expires_at, "expires_at"), soci::use(s.peer, "peer");
  });
}

Result<std::optional<SessionWithAccount>> find_session(Transaction& t, std::string_view digest_view,
                                                       std::string_view now_view,
                                                       std::string_view idle_view) {
  return run_sql(t, "reading a session", [&](soci::session& sql) {
    const std::string digest(digest_view), now(now_view), idle_since(idle_view);
    SessionWithAccount found;
    SessionRow& s = found.session;
    view::Account& a = found.account;
    sql << std::string(
               "SELECT s.id, s.digest, s.person, s.created_at, s.seen_at, s.expires_at, "
               "s.peer, ") +
               kCallerColumns +
               " FROM sessions s JOIN accounts a ON a.person = s.person WHERE s.digest = :digest "
               "AND s.expires_at > :now AND s.seen_at > :idle AND a.active = 1",
        soci::use(digest, "digest"), soci::use(now, "now"), soci::use(idle_since, "idle"),
        soci::into(s.id), soci::into(s.digest), soci::into(s.person), soci::into(s.created_at),
        soci::into(s.seen_at), soci::into(s.expires_at), soci::into(s.peer),
        soci::into(a.organization), soci::into(a.name), soci::into(a.login), soci::into(a.role),
        soci::into(a.version);
    if (!sql.got_data()) return std::optional<SessionWithAccount>();
    a.person = s.person;
    return std::optional<SessionWithAccount>(found);
  });
}

Result<void> touch_session(Transaction& t, std::string_view id_view, std::string_view at_view) {
  return run_sql(t, "moving a session on", [&](soci::session& sql) {
    const std::string id(id_view), at(at_view);
    sql << "UPDATE sessions SET seen_at = :at WHERE id = :id AND seen_at < :at2",
        soci::use(at, "at"), soci::use(id, "id"), soci::use(at, "at2");
  });
}

Result<void> renew_session(Transaction& t, std::string_view id_view, std::string_view digest_view) {
  return run_sql(t, "renewing a session", [&](soci::session& sql) {
    const std::string id(id_view), digest(digest_view);
    sql << "UPDATE sessions SET digest = :digest WHERE id = :id", soci::use(digest, "digest"),
        soci::use(id, "id");
  });
}

Result<void> end_session(Transaction& t, std::string_view id_view) {
  return run_sql(t, "ending a session", [&](soci::session& sql) {
    const std::string id(id_view);
    sql << "DELETE FROM sessions WHERE id = :id", soci::use(id, "id");
  });
}

Result<std::vector<SessionRow>> list_sessions(Transaction& t, std::string_view person_view,
                                              std::string_view now_view,
                                              std::string_view idle_view) {
  return run_sql(t, "listing sessions", [&](soci::session& sql) {
    const std::string person(person_view), now(now_view), idle_since(idle_view);
    std::vector<SessionRow> sessions;
    SessionRow s;
    soci::statement statement =
        (sql.prepare << "SELECT id, person, created_at, seen_at, expires_at, peer FROM sessions "
                        "WHERE person = :person AND expires_at > :now AND seen_at > :idle "
                        "ORDER BY seen_at DESC, id",
         soci::use(person, "person"), soci::use(now, "now"), soci::use(idle_since, "idle"),
         soci::into(s.id), soci::into(s.person), soci::into(s.created_at), soci::into(s.seen_at),
         soci::into(s.expires_at), soci::into(s.peer));
    statement.execute();
    while (statement.fetch()) sessions.push_back(s);
    return sessions;
  });
}

Result<bool> end_session_of(Transaction& t, std::string_view person_view,
                            std::string_view id_view) {
  return run_sql(t, "ending a session", [&](soci::session& sql) {
    const std::string person(person_view), id(id_view);
    return run_statement(sql, "DELETE FROM sessions WHERE person = :person AND id = :id",
                         soci::use(person, "person"), soci::use(id, "id")) > 0;
  });
}

Result<std::int64_t> end_sessions_of(Transaction& t, std::string_view person_view,
                                     std::string_view but_view) {
  return run_sql(t, "ending sessions", [&](soci::session& sql) {
    const std::string person(person_view), but_not(but_view);
    return run_statement(sql, "DELETE FROM sessions WHERE person = :person AND id <> :but_not",
                         soci::use(person, "person"), soci::use(but_not, "but_not"));
  });
}

// ---- API tokens

Result<void> insert_token(Transaction& t, const TokenRow& row) {
  return run_sql(t, "writing an API token", [&](soci::session& sql) {
    const ApiToken& token = row.token;
    const std::string scopes = joined(token.scopes);
    sql << "INSERT INTO api_tokens (id, digest, person, name, scopes, created_at, expires_at, "
           "used_at) VALUES (:id, :digest, :person, :name, :scopes, :created_at, :expires_at, '')",
        soci::use(token.id, "id"), soci::use(row.digest, "digest"),
        soci::use(token.person, "person"), soci::use(token.name, "name"),
        soci::use(scopes, "scopes"), soci::use(token.created_at, "created_at"),
        soci::use(token.expires_at, "expires_at");
  });
}

Result<std::optional<TokenWithAccount>> find_token(Transaction& t, std::string_view digest_view,
                                                   std::string_view now_view) {
  return run_sql(t, "reading an API token", [&](soci::session& sql) {
    const std::string digest(digest_view), now(now_view);
    TokenWithAccount found;
    ApiToken& token = found.token;
    view::Account& a = found.account;
    std::string scopes;
    sql << std::string(
               "SELECT k.id, k.person, k.name, k.scopes, k.created_at, k.expires_at, "
               "k.used_at, ") +
               kCallerColumns +
               " FROM api_tokens k JOIN accounts a ON a.person = k.person WHERE k.digest = :digest "
               "AND k.expires_at > :now AND a.active = 1",
        soci::use(digest, "digest"), soci::use(now, "now"), soci::into(token.id),
        soci::into(token.person), soci::into(token.name), soci::into(scopes),
        soci::into(token.created_at), soci::into(token.expires_at), soci::into(token.used_at),
        soci::into(a.organization), soci::into(a.name), soci::into(a.login), soci::into(a.role),
        soci::into(a.version);
    if (!sql.got_data()) return std::optional<TokenWithAccount>();
    token.scopes = words_of(scopes);
    a.person = token.person;
    return std::optional<TokenWithAccount>(found);
  });
}

Result<std::vector<ApiToken>> list_tokens(Transaction& t, std::string_view person_view,
                                          std::string_view now_view) {
  return run_sql(t, "reading API tokens", [&](soci::session& sql) {
    const std::string person(person_view), now(now_view);
    ApiToken token;
    std::string scopes;
    soci::statement statement =
        (sql.prepare << "SELECT id, person, name, scopes, created_at, expires_at, used_at FROM "
                        "api_tokens WHERE person = :person AND expires_at > :now "
                        "ORDER BY created_at DESC, id",
         soci::use(person, "person"), soci::use(now, "now"), soci::into(token.id),
         soci::into(token.person), soci::into(token.name), soci::into(scopes),
         soci::into(token.created_at), soci::into(token.expires_at), soci::into(token.used_at));
    statement.execute();
    std::vector<ApiToken> tokens;
    while (statement.fetch()) {
      token.scopes = words_of(scopes);
      tokens.push_back(token);
    }
    return tokens;
  });
}

Result<void> touch_token(Transaction& t, std::string_view id_view, std::string_view at_view) {
  return run_sql(t, "noting the use of an API token", [&](soci::session& sql) {
    const std::string id(id_view), at(at_view);
    sql << "UPDATE api_tokens SET used_at = :at WHERE id = :id", soci::use(at, "at"),
        soci::use(id, "id");
  });
}

Result<bool> remove_token(Transaction& t, std::string_view person_view, std::string_view id_view) {
  return run_sql(t, "ending an API token", [&](soci::session& sql) {
    const std::string person(person_view), id(id_view);
    return run_statement(sql, "DELETE FROM api_tokens WHERE person = :person AND id = :id",
                         soci::use(person, "person"), soci::use(id, "id")) > 0;
  });
}

Result<void> remove_tokens_of(Transaction& t, std::string_view person_view) {
  return run_sql(t, "ending API tokens", [&](soci::session& sql) {
    const std::string person(person_view);
    sql << "DELETE FROM api_tokens WHERE person = :person", soci::use(person, "person");
  });
}

// ---- Invitations

Result<void> put_invitation(Transaction& t, const InvitationRow& row) {
  return run_sql(t, "writing an invitation", [&](soci::session& sql) {
    sql << "INSERT INTO invitations (person, digest, created_at, expires_at) VALUES (:person, "
           ":digest, :created_at, :expires_at) ON CONFLICT (person) DO UPDATE SET digest = "
           "excluded.digest, created_at = excluded.created_at, expires_at = excluded.expires_at",
        soci::use(row.person, "person"), soci::use(row.digest, "digest"),
        soci::use(row.created_at, "created_at"), soci::use(row.expires_at, "expires_at");
  });
}

Result<std::optional<InvitationRow>> find_invitation(Transaction& t, std::string_view digest_view,
                                                     std::string_view now_view) {
  return run_sql(t, "reading an invitation", [&](soci::session& sql) {
    InvitationRow row;
    row.digest = std::string(digest_view);
    const std::string now(now_view);
    sql << "SELECT i.person, i.created_at, i.expires_at FROM invitations i JOIN accounts a ON "
           "a.person = i.person WHERE i.digest = :digest AND i.expires_at > :now AND a.active = 1",
        soci::use(row.digest, "digest"), soci::use(now, "now"), soci::into(row.person),
        soci::into(row.created_at), soci::into(row.expires_at);
    return sql.got_data() ? std::optional<InvitationRow>(row) : std::nullopt;
  });
}

Result<void> remove_invitation_of(Transaction& t, std::string_view person_view) {
  return run_sql(t, "removing an invitation", [&](soci::session& sql) {
    const std::string person(person_view);
    sql << "DELETE FROM invitations WHERE person = :person", soci::use(person, "person");
  });
}

Result<void> sweep_accounts(Transaction& t, std::string_view before_view) {
  return run_sql(t, "sweeping out what is over", [&](soci::session& sql) {
    const std::string before(before_view);
    for (const char* table : {"sessions", "api_tokens", "invitations"}) {
      sql << "DELETE FROM " + std::string(table) + " WHERE expires_at < :before",
          soci::use(before, "before");
    }
    sql << "DELETE FROM sign_in_attempts WHERE first_at < :before AND wait_until < :before2",
        soci::use(before, "before"), soci::use(before, "before2");
  });
}

}  // namespace lintel::store
