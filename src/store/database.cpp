#include "store/database.h"

#include <algorithm>
#include <chrono>
#include <mutex>
#include <random>
#include <thread>
#include <utility>

#include "store/engines.h"
#include "store/migrations.h"
#include "store/session_pool.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

using Clock = SessionPool::Clock;

constexpr int kMostRuns = 60;  // of one body; with the pauses below some seconds

enum class Access : std::uint8_t { Read, Write };

// SQLite: the write lock is taken at once, so that no later statement finds it gone.
// PostgreSQL: serializable, so that a body may rely on what it has read, as on SQLite.
std::string begin_words(Engine engine, Access access) {
  if (engine == Engine::Sqlite) return access == Access::Write ? "BEGIN IMMEDIATE" : "BEGIN";
  return access == Access::Write ? "BEGIN ISOLATION LEVEL SERIALIZABLE"
                                 : "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY";
}

// Ends the transaction, also when the body throws.
class OpenTransaction {
 public:
  OpenTransaction(Transaction& t, Access access) : t_(t), access_(access) {}
  OpenTransaction(const OpenTransaction&) = delete;
  OpenTransaction& operator=(const OpenTransaction&) = delete;
  ~OpenTransaction() {
    if (open_) end("ROLLBACK");
  }

  Result<void> begin() {
    return run_sql(t_, "starting", [&](soci::session& sql) {
      if (t_.sqlite()) {
        sql << (access_ == Access::Write ? "PRAGMA query_only = OFF" : "PRAGMA query_only = ON");
      }
      sql << begin_words(t_.engine(), access_);
      open_ = true;
    });
  }
  Result<void> commit() {
    Result<void> done =
        run_sql(t_, "keeping the change", [&](soci::session& sql) { sql << "COMMIT"; });
    // PostgreSQL has ended the transaction either way.
    if (done || !t_.sqlite()) open_ = false;
    return done;
  }

 private:
  void end(const char* words) {
    open_ = false;
    try {
      t_.session() << words;
    } catch (const soci::soci_error&) {
      // A connection whose state nobody knows is of no use any more.
      t_.set_wish(Transaction::Wish::Reconnect);
    }
  }

  Transaction& t_;
  Access access_;
  bool open_ = false;
};

class SqlDatabase final : public Database {
 public:
  SqlDatabase(DatabaseAddress address, const DatabaseOptions& options)
      : address_(std::move(address)),
        busy_wait_(options.busy_wait_ms),
        pool_(options.sessions,
              [this] { return open_session(address_, static_cast<int>(busy_wait_.count())); }) {}

  Result<void> write(const Body& body) override {
    const Clock::time_point deadline = Clock::now() + busy_wait_;
    // Writers of one process wait here in turn instead of asking SQLite again and again.
    std::unique_lock<std::timed_mutex> turn(writers_, std::defer_lock);
    if (engine() == Engine::Sqlite && !turn.try_lock_until(deadline)) {
      return fail(ErrorCode::Io, "the database is busy", "try again in a moment");
    }
    return run(Access::Write, body, deadline);
  }
  Result<void> read(const Body& body) override {
    return run(Access::Read, body, Clock::now() + busy_wait_);
  }

  Engine engine() const override { return address_.engine; }

  Result<void> check_integrity() override {
    return read([](Transaction& t) -> Result<void> {
      return t.sqlite() ? check_sqlite(t) : check_postgresql(t);
    });
  }

  Result<void> forget_deleted() override {
    SessionPool::Lease lease = LINTEL_TRY(pool_.take(Clock::now() + busy_wait_));
    Transaction t(lease.session(), engine());
    Result<void> done = run_sql(t, "cleaning up", [&](soci::session& sql) {
      sql << (t.sqlite() ? "PRAGMA wal_checkpoint(TRUNCATE)" : "VACUUM (ANALYZE)");
    });
    if (t.wish() == Transaction::Wish::Reconnect) lease.drop();
    return done;
  }

 private:
  struct Run {
    Result<void> result;
    bool again = false;
  };

  Result<void> run(Access access, const Body& body, Clock::time_point deadline) {
    bool reconnected = false;
    for (int runs = 1;; ++runs) {
      Run one = run_once(access, body, deadline, reconnected);
      if (one.result || !one.again || runs >= kMostRuns || Clock::now() > deadline) {
        return std::move(one.result);
      }
      pause(runs);
    }
  }

  Run run_once(Access access, const Body& body, Clock::time_point deadline, bool& reconnected) {
    Result<SessionPool::Lease> taken = pool_.take(deadline);
    if (!taken) return {fail(std::move(taken).error())};
    SessionPool::Lease& lease = *taken;
    Transaction t(lease.session(), engine());
    bool committing = false;
    Result<void> result = in_transaction(t, access, body, committing);
    const Transaction::Wish wish = t.wish();
    if (wish == Transaction::Wish::Reconnect) lease.drop();
    if (result) return {std::move(result)};
    if (wish == Transaction::Wish::RunAgain) return {std::move(result), true};
    if (wish != Transaction::Wish::Reconnect) return {std::move(result)};
    if (committing) {
      return {fail(ErrorCode::Io,
                   "the database went away while it kept the change; it is not known whether it "
                   "did",
                   "look whether the change is there before you make it again")};
    }
    // An idle connection may have been cut, for example by a restart of the server: once more.
    return {std::move(result), !std::exchange(reconnected, true)};
  }

  static Result<void> in_transaction(Transaction& t, Access access, const Body& body,
                                     bool& committing) {
    OpenTransaction open(t, access);
    LINTEL_TRY_VOID(open.begin());
    LINTEL_TRY_VOID(body(t));
    committing = access == Access::Write;
    return open.commit();
  }

  // Longer each time and never the same for two writers that met.
  static void pause(int runs) {
    thread_local std::minstd_rand random{std::random_device{}()};
    const int most_ms = std::min(2 << std::min(runs, 6), 100);
    std::this_thread::sleep_for(
        std::chrono::microseconds(std::uniform_int_distribution<int>(200, most_ms * 1000)(random)));
  }

  DatabaseAddress address_;
  std::chrono::milliseconds busy_wait_;
  std::timed_mutex writers_;
  SessionPool pool_;
};

}  // namespace

Result<std::unique_ptr<Database>> open_with_migrations(const DatabaseOptions& options,
                                                       std::span<const Migration> migrations) {
  DatabaseAddress address = LINTEL_TRY(parse_database_url(options.url));
  std::unique_ptr<Database> database = std::make_unique<SqlDatabase>(address, options);
  const std::vector<AppliedMigration> applied = LINTEL_TRY(applied_migrations(*database));
  const std::vector<Migration> pending = LINTEL_TRY(pending_migrations(applied, migrations));
  if (pending.empty()) return database;
  if (!applied.empty() && address.engine == Engine::Sqlite) {
    LINTEL_TRY_VOID(copy_before_migration(address, applied.back().version));
  }
  LINTEL_TRY_VOID(migrate(*database, migrations));
  return database;
}

Result<std::unique_ptr<Database>> Database::open(const DatabaseOptions& options) {
  return open_with_migrations(options, embedded_migrations());
}

}  // namespace lintel::store
