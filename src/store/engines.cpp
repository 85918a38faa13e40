#include "store/engines.h"

#include <fcntl.h>
#include <soci/postgresql/soci-postgresql.h>
#include <soci/sqlite3/soci-sqlite3.h>
#include <unistd.h>

#include <cerrno>
#include <mutex>
#include <system_error>
#include <thread>
#include <vector>

#include "secure/random.h"

namespace lintel::store {
namespace {

constexpr int kMostFaultsTold = 5;

// For statements outside of any transaction of a caller.
Result<void> set_up(soci::session& session, Engine engine,
                    const std::vector<std::string>& statements) {
  Transaction t(session, engine);
  return run_sql(t, "setting up the connection", [&](soci::session& sql) {
    for (const std::string& statement : statements) sql << statement;
  });
}

// SQLite makes files as readable as the user's mask has it; this one is for the owner alone. It is
// touched only while it is new: closing any descriptor of it drops the locks that all connections
// of this process hold on it, and another process would then take the write-ahead log from under
// them.
Result<void> make_private_file(const std::filesystem::path& file) {
  static std::mutex making;
  const std::lock_guard lock(making);
  std::error_code ignored;
  if (std::filesystem::exists(file, ignored)) return {};
  const int made = ::open(file.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
  if (made < 0 && errno != EEXIST) {
    return fail(ErrorCode::Io, "the database file cannot be opened or made",
                "check the data folder and its permissions");
  }
  if (made >= 0) ::close(made);
  return {};
}

// The change to write-ahead logging waits for nobody, so another process that opens the new file at
// the same moment makes it fail; it is kept in the file, so this is needed once.
Result<void> use_write_ahead_log(soci::session& session, int busy_wait_ms) {
  using Clock = std::chrono::steady_clock;
  const Clock::time_point deadline = Clock::now() + std::chrono::milliseconds(busy_wait_ms);
  for (;;) {
    Transaction t(session, Engine::Sqlite);
    std::string mode;
    Result<void> done = run_sql(t, "opening the database", [&](soci::session& sql) {
      sql << "PRAGMA journal_mode = WAL", soci::into(mode);
    });
    if (done && mode == "wal") return {};
    if (done)
      return fail(ErrorCode::Io, "the database file cannot keep a write-ahead log",
                  "keep it on a disk of this machine");
    if (t.wish() != Transaction::Wish::RunAgain || Clock::now() > deadline) return done;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
}

Result<std::unique_ptr<soci::session>> open_sqlite(const std::filesystem::path& file,
                                                   int busy_wait_ms) {
  LINTEL_TRY_VOID(make_private_file(file));
  std::unique_ptr<soci::session> session;
  try {
    session = std::make_unique<soci::session>(soci::sqlite3, "dbname=\"" + file.string() + "\"");
  } catch (const soci::soci_error&) {
    return fail(ErrorCode::Io, "the database file cannot be opened",
                "check the data folder and its permissions");
  }
  const std::string wait = std::to_string(busy_wait_ms);
  LINTEL_TRY_VOID(set_up(*session, Engine::Sqlite,
                         {"PRAGMA busy_timeout = " + wait, "PRAGMA trusted_schema = OFF"}));
  LINTEL_TRY_VOID(use_write_ahead_log(*session, busy_wait_ms));
  // secure_delete: what was erased is overwritten in the file.
  LINTEL_TRY_VOID(set_up(*session, Engine::Sqlite,
                         {"PRAGMA synchronous = FULL", "PRAGMA foreign_keys = ON",
                          "PRAGMA secure_delete = ON", "PRAGMA temp_store = MEMORY",
                          "PRAGMA cache_size = -32768", "PRAGMA journal_size_limit = 67108864"}));
  return session;
}

Result<std::unique_ptr<soci::session>> open_postgresql(const std::string& connection,
                                                       int busy_wait_ms) {
  std::unique_ptr<soci::session> session;
  try {
    session = std::make_unique<soci::session>(soci::postgresql, connection);
  } catch (const soci::soci_error&) {
    return fail(ErrorCode::Io, "the database server cannot be reached, or it refused",
                "check that PostgreSQL runs and that the address, name and password are right");
  }
  LINTEL_TRY_VOID(set_up(
      *session, Engine::Postgresql,
      {"SET client_min_messages = warning", "SET client_encoding = 'UTF8'",
       "SET synchronous_commit = on", "SET lock_timeout = " + std::to_string(busy_wait_ms)}));
  return session;
}

Result<void> sync_file(const std::filesystem::path& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  const bool synced = file >= 0 && ::fsync(file) == 0;
  if (file >= 0) ::close(file);
  if (!synced) return fail(ErrorCode::Io, "the copy of the database cannot be written");
  return {};
}

// "name: what" lines to one text; nothing when there is nothing.
std::string told(const std::vector<std::string>& faults) {
  std::string out;
  for (const std::string& fault : faults) out += (out.empty() ? "" : "; ") + fault;
  return out;
}

Result<void> answer(const std::vector<std::string>& faults) {
  if (faults.empty()) return {};
  return fail(ErrorCode::Invalid, "the database is damaged: " + told(faults),
              "restore the last backup");
}

}  // namespace

Result<DatabaseAddress> parse_database_url(std::string_view url) {
  const auto bad = [](std::string message) {
    Error error{ErrorCode::Invalid,
                std::move(message),
                {},
                "write sqlite:/folder/lintel.db or postgresql://user@host/name",
                {}};
    error.place.field = "database";
    return fail(std::move(error));
  };
  DatabaseAddress out;
  constexpr std::string_view kSqlite = "sqlite:";
  if (url.starts_with(kSqlite)) {
    out.file = std::filesystem::path(std::string(url.substr(kSqlite.size())));
    if (out.file.filename().empty()) return bad("the database address names no file");
    // SOCI's own quoting has no way to write these.
    if (out.file.string().find_first_of(std::string("\"\0\n", 3)) != std::string::npos) {
      return bad("the name of the database file has a quotation mark or a line break");
    }
    return out;
  }
  if (url.starts_with("postgresql://") || url.starts_with("postgres://")) {
    out.engine = Engine::Postgresql;
    out.connection = url;
    return out;
  }
  return bad("the database address is neither of SQLite nor of PostgreSQL");
}

Result<std::unique_ptr<soci::session>> open_session(const DatabaseAddress& address,
                                                    int busy_wait_ms) {
  return address.engine == Engine::Sqlite ? open_sqlite(address.file, busy_wait_ms)
                                          : open_postgresql(address.connection, busy_wait_ms);
}

Result<void> copy_before_migration(const DatabaseAddress& address, int version) {
  std::error_code ignored;
  const std::string copy = address.file.string() + ".schema-" + std::to_string(version) + ".copy";
  const std::string part = copy + "." + secure::random_id();  // others may do the same now
  const std::unique_ptr<soci::session> session = LINTEL_TRY(open_session(address, 60'000));
  LINTEL_TRY_VOID(make_private_file(part));
  Transaction t(*session, Engine::Sqlite);
  LINTEL_TRY_VOID(run_sql(t, "copying the database", [&](soci::session& sql) {
    sql << "VACUUM INTO :part", soci::use(part, "part");
  }));
  LINTEL_TRY_VOID(sync_file(part));
  // Another process may have brought it up to date meanwhile: then this is no copy of before.
  std::int64_t reached = 0;
  LINTEL_TRY_VOID(run_sql(t, "copying the database", [&](soci::session& sql) {
    sql << "ATTACH DATABASE :part AS copied", soci::use(part, "part");
    sql << "SELECT COALESCE(MAX(version), 0) FROM copied.schema_migration", soci::into(reached);
    sql << "DETACH DATABASE copied";
  }));
  if (reached != version) {
    std::filesystem::remove(part, ignored);
    return {};
  }
  std::error_code failed;
  std::filesystem::rename(part, copy, failed);
  if (failed) {
    std::filesystem::remove(part, ignored);
    return fail(ErrorCode::Io, "the copy of the database cannot be written");
  }
  return sync_file(std::filesystem::absolute(address.file).parent_path());
}

Result<void> check_sqlite(Transaction& t) {
  return run_sql(t, "checking the database", [&](soci::session& sql) -> Result<void> {
    std::vector<std::string> faults;
    std::string line;
    soci::statement check = (sql.prepare << "PRAGMA integrity_check(5)", soci::into(line));
    check.execute();
    while (check.fetch()) {
      if (line != "ok") faults.push_back(line);
    }
    std::string table, parent;
    soci::statement keys = (sql.prepare << "SELECT \"table\", \"parent\" FROM "
                                           "pragma_foreign_key_check LIMIT 5",
                            soci::into(table), soci::into(parent));
    keys.execute();
    while (keys.fetch()) {
      faults.push_back("a row of " + table + " names a row of " + parent + " that is not there");
    }
    return answer(faults);
  });
}

Result<void> check_postgresql(Transaction& t) {
  return run_sql(t, "checking the database", [&](soci::session& sql) -> Result<void> {
    // Every foreign key as a question for rows that break it; single columns, as the schema has.
    std::vector<std::string> questions, tables, faults;
    std::string question, table, name;
    soci::statement keys =
        (sql.prepare << "SELECT format('SELECT COUNT(*) FROM %s a WHERE a.%I IS NOT NULL AND NOT "
                        "EXISTS (SELECT 1 FROM %s b WHERE b.%I = a.%I)', c.conrelid::regclass, "
                        "child.attname, c.confrelid::regclass, parent.attname, child.attname), "
                        "c.conrelid::regclass::text FROM pg_constraint c "
                        "JOIN pg_attribute child ON child.attrelid = c.conrelid AND "
                        "child.attnum = c.conkey[1] "
                        "JOIN pg_attribute parent ON parent.attrelid = c.confrelid AND "
                        "parent.attnum = c.confkey[1] "
                        "WHERE c.contype = 'f' AND array_length(c.conkey, 1) = 1 "
                        "AND c.connamespace = ANY (SELECT oid FROM pg_namespace "
                        "WHERE nspname = ANY (current_schemas(false)))",
         soci::into(question), soci::into(name));
    keys.execute();
    while (keys.fetch()) {
      questions.push_back(question);
      tables.push_back(name);
    }
    for (std::size_t i = 0; i < questions.size(); ++i) {
      std::int64_t broken = 0;
      sql << questions[i], soci::into(broken);
      if (broken > 0 && faults.size() < kMostFaultsTold) {
        faults.push_back(std::to_string(broken) + " rows of " + tables[i] +
                         " name rows that are not there");
      }
    }
    return answer(faults);
  });
}

}  // namespace lintel::store
