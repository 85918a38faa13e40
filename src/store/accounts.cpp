#include "store/accounts.h"

#include "store/sql.h"

namespace lintel::store {
namespace {

using view::Account;

const std::string kAccountColumns =
    "a.person, a.organization, a.name, a.login, a.role, a.active, a.version, a.passphrase_hash, "
    "a.created_at, a.changed_at, a.signed_in_at";

// What one account's columns are read into.
struct AccountTarget {
  AccountRow row;
  std::int64_t active = 0;

  template <typename Prepared>
  void into(Prepared& prepared) {
    Account& a = row.account;
    (void)(prepared, soci::into(a.person), soci::into(a.organization), soci::into(a.name),
           soci::into(a.login), soci::into(a.role), soci::into(active), soci::into(a.version),
           soci::into(row.passphrase_hash), soci::into(a.created_at), soci::into(a.changed_at),
           soci::into(a.signed_in_at));
  }
  AccountRow get() const {
    AccountRow out = row;
    out.account.active = active != 0;
    out.account.has_passphrase = !row.passphrase_hash.empty();
    return out;
  }
};

template <typename... Bindings>
std::vector<AccountRow> accounts_of(soci::session& sql, const std::string& text,
                                    Bindings&&... bindings) {
  AccountTarget target;
  soci::details::prepare_temp_type prepared(sql);
  prepared << "SELECT " + kAccountColumns + " FROM accounts a " + text;
  ((void)(prepared, std::forward<Bindings>(bindings)), ...);
  target.into(prepared);
  soci::statement statement(prepared);
  statement.execute();
  std::vector<AccountRow> rows;
  while (statement.fetch()) rows.push_back(target.get());
  return rows;
}

std::optional<AccountRow> first(std::vector<AccountRow> rows) {
  if (rows.empty()) return std::nullopt;
  return std::move(rows.front());
}

Error login_taken() {
  Error error{ErrorCode::Conflict, "this login is taken", {}, "choose another login", {}};
  error.place.field = "login";
  return error;
}

bool login_is_free(soci::session& sql, const std::string& login, const std::string& person) {
  std::int64_t others = 0;
  sql << "SELECT COUNT(*) FROM accounts WHERE login = :login AND person <> :person",
      soci::use(login, "login"), soci::use(person, "person"), soci::into(others);
  return others == 0;
}

}  // namespace

Result<void> insert_account(Transaction& t, const AccountRow& row) {
  return run_sql(t, "writing an account", [&](soci::session& sql) -> Result<void> {
    const Account& a = row.account;
    if (!login_is_free(sql, a.login, a.person)) return fail(login_taken());
    const std::int64_t active = a.active ? 1 : 0;
    const std::int64_t added = run_statement(
        sql,
        "INSERT INTO accounts (person, organization, name, login, role, active, version, "
        "passphrase_hash, created_at, changed_at, signed_in_at) VALUES (:person, :organization, "
        ":name, :login, :role, :active, 1, :hash, :created_at, :changed_at, '') "
        "ON CONFLICT DO NOTHING",
        soci::use(a.person, "person"), soci::use(a.organization, "organization"),
        soci::use(a.name, "name"), soci::use(a.login, "login"), soci::use(a.role, "role"),
        soci::use(active, "active"), soci::use(row.passphrase_hash, "hash"),
        soci::use(a.created_at, "created_at"), soci::use(a.changed_at, "changed_at"));
    if (added == 1) return {};
    // The login was free a moment ago, so it is the person, or another writer was faster.
    if (!login_is_free(sql, a.login, a.person)) return fail(login_taken());
    return fail(ErrorCode::Conflict, "this person has an account already", "change that one");
  });
}

Result<void> update_account(Transaction& t, const AccountRow& row) {
  return run_sql(t, "writing an account", [&](soci::session& sql) -> Result<void> {
    const Account& a = row.account;
    if (!login_is_free(sql, a.login, a.person)) return fail(login_taken());
    const std::int64_t active = a.active ? 1 : 0;
    const std::int64_t changed = run_statement(
        sql,
        "UPDATE accounts SET name = :name, login = :login, role = :role, active = :active, "
        "passphrase_hash = :hash, changed_at = :changed_at, version = version + 1 "
        "WHERE person = :person AND version = :version",
        soci::use(a.name, "name"), soci::use(a.login, "login"), soci::use(a.role, "role"),
        soci::use(active, "active"), soci::use(row.passphrase_hash, "hash"),
        soci::use(a.changed_at, "changed_at"), soci::use(a.person, "person"),
        soci::use(a.version, "version"));
    if (changed == 1) return {};
    std::int64_t kept = 0;
    sql << "SELECT version FROM accounts WHERE person = :person", soci::use(a.person, "person"),
        soci::into(kept);
    if (!sql.got_data()) return fail(ErrorCode::NotFound, "there is no such person");
    return fail(ErrorCode::Conflict,
                "the account was changed by somebody else: it has version " + std::to_string(kept) +
                    ", the change was made to version " + std::to_string(a.version),
                "read it again and repeat the change");
  });
}

Result<void> note_sign_in(Transaction& t, std::string_view person_view, std::string_view at_view) {
  return run_sql(t, "noting a sign-in", [&](soci::session& sql) {
    const std::string person(person_view), at(at_view);
    sql << "UPDATE accounts SET signed_in_at = :at WHERE person = :person", soci::use(at, "at"),
        soci::use(person, "person");
  });
}

Result<void> renew_hash(Transaction& t, std::string_view person_view, std::string_view old_view,
                        std::string_view new_view) {
  return run_sql(t, "renewing a passphrase hash", [&](soci::session& sql) {
    const std::string person(person_view), old_hash(old_view), new_hash(new_view);
    sql << "UPDATE accounts SET passphrase_hash = :new_hash WHERE person = :person AND "
           "passphrase_hash = :old_hash",
        soci::use(new_hash, "new_hash"), soci::use(person, "person"),
        soci::use(old_hash, "old_hash");
  });
}

Result<std::optional<AccountRow>> find_account(Transaction& t, std::string_view person_view) {
  return run_sql(t, "reading an account", [&](soci::session& sql) {
    const std::string person(person_view);
    return first(accounts_of(sql, "WHERE a.person = :person", soci::use(person, "person")));
  });
}

Result<std::optional<AccountRow>> find_account_by_login(Transaction& t,
                                                        std::string_view login_view) {
  return run_sql(t, "reading an account", [&](soci::session& sql) {
    const std::string login(login_view);
    return first(accounts_of(sql, "WHERE a.login = :login", soci::use(login, "login")));
  });
}

Result<std::vector<Account>> list_accounts(Transaction& t, std::string_view organization_view) {
  return run_sql(t, "reading the accounts", [&](soci::session& sql) {
    const std::string organization(organization_view);
    std::vector<Account> out;
    for (const AccountRow& row :
         accounts_of(sql, "WHERE a.organization = :organization ORDER BY a.name, a.person",
                     soci::use(organization, "organization"))) {
      out.push_back(row.account);
    }
    return out;
  });
}

Result<std::int64_t> count_accounts(Transaction& t) {
  return run_sql(t, "counting the accounts", [&](soci::session& sql) {
    std::int64_t count = 0;
    sql << "SELECT COUNT(*) FROM accounts", soci::into(count);
    return count;
  });
}

Result<std::vector<std::string>> list_organizations(Transaction& t) {
  return run_sql(t, "reading the organizations", [&](soci::session& sql) {
    std::string organization;
    soci::statement statement =
        (sql.prepare << "SELECT DISTINCT organization FROM accounts ORDER BY organization",
         soci::into(organization));
    statement.execute();
    std::vector<std::string> out;
    while (statement.fetch()) out.push_back(organization);
    return out;
  });
}

Result<std::int64_t> count_active_owners(Transaction& t, std::string_view organization_view) {
  return run_sql(t, "counting the owners", [&](soci::session& sql) {
    const std::string organization(organization_view);
    std::int64_t count = 0;
    sql << "SELECT COUNT(*) FROM accounts WHERE organization = :organization AND role = 'owner' "
           "AND active = 1",
        soci::use(organization, "organization"), soci::into(count);
    return count;
  });
}

Result<bool> remove_account(Transaction& t, std::string_view person_view) {
  return run_sql(t, "removing an account", [&](soci::session& sql) {
    const std::string person(person_view);
    for (const char* table : {"sessions", "api_tokens", "invitations"}) {
      sql << "DELETE FROM " + std::string(table) + " WHERE person = :person",
          soci::use(person, "person");
    }
    return run_statement(sql, "DELETE FROM accounts WHERE person = :person",
                         soci::use(person, "person")) > 0;
  });
}

// ---- Attempts

Result<AttemptRow> find_attempts(Transaction& t, std::string_view key_view) {
  return run_sql(t, "reading attempts to sign in", [&](soci::session& sql) {
    const std::string key(key_view);
    AttemptRow row;
    sql << "SELECT count, first_at, wait_until FROM sign_in_attempts WHERE attempt_key = :key",
        soci::use(key, "key"), soci::into(row.count), soci::into(row.first_at),
        soci::into(row.wait_until);
    return sql.got_data() ? row : AttemptRow{};
  });
}

Result<void> put_attempts(Transaction& t, std::string_view key_view, const AttemptRow& attempts) {
  return run_sql(t, "counting attempts to sign in", [&](soci::session& sql) {
    const std::string key(key_view);
    sql << "INSERT INTO sign_in_attempts (attempt_key, count, first_at, wait_until) VALUES (:key, "
           ":count, :first_at, :wait_until) ON CONFLICT (attempt_key) DO UPDATE SET count = "
           "excluded.count, first_at = excluded.first_at, wait_until = excluded.wait_until",
        soci::use(key, "key"), soci::use(attempts.count, "count"),
        soci::use(attempts.first_at, "first_at"), soci::use(attempts.wait_until, "wait_until");
  });
}

Result<void> clear_attempts(Transaction& t, std::string_view key_view) {
  return run_sql(t, "clearing attempts to sign in", [&](soci::session& sql) {
    const std::string key(key_view);
    sql << "DELETE FROM sign_in_attempts WHERE attempt_key = :key", soci::use(key, "key");
  });
}

}  // namespace lintel::store
