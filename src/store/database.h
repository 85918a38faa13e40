// The database of one workplace: SQLite in its data folder, or PostgreSQL.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "base/result.h"

namespace lintel::store {

enum class Engine : std::uint8_t { Sqlite, Postgresql };

struct DatabaseOptions {
  // "sqlite:/folder/lintel.db" or "postgresql://user@host/name" (libpq's own words after that).
  std::string url;
  int sessions = 4;           // connections kept; one is used by one thread at a time
  int busy_wait_ms = 10'000;  // how long a writer waits for another one
};

// One open transaction on one connection; the functions of records.h, accounts.h, audit.h,
// job_queue.h and uploads.h work through it. Only inside Database::read and Database::write.
class Transaction;

// Thread-safe. SQLite: WAL, foreign keys on, synchronous=FULL: what write() has answered with
// success outlives a crash of the process and of the machine.
class Database {
 public:
  // Opens, makes what is missing, brings an older schema up to date (a copy of a SQLite file is
  // made first). Errors: Unsupported for a schema newer than this program, with both versions;
  // Conflict for a migration whose text was changed since; Invalid for a bad url; Io.
  static Result<std::unique_ptr<Database>> open(const DatabaseOptions& options);

  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;
  virtual ~Database() = default;

  // Runs the body in a transaction and commits when it succeeds, rolls back when it fails. The body
  // may be run again when the database asks for it (deadlock, serialization), so it must touch
  // nothing but the database. Errors: those of the body; Io (no SQL and no path in the text).
  using Body = std::function<Result<void>(Transaction&)>;
  virtual Result<void> write(const Body& body) = 0;
  // A consistent view; the body must not change anything.
  virtual Result<void> read(const Body& body) = 0;

  virtual Engine engine() const = 0;
  // Integrity and foreign keys as the engine checks them. Errors: Invalid with what it found.
  virtual Result<void> check_integrity() = 0;
  // After an erasure: what was deleted leaves the files too (SQLite: the write-ahead log is
  // emptied; PostgreSQL: VACUUM). Not inside read or write.
  virtual Result<void> forget_deleted() = 0;

 protected:
  Database() = default;
};

// body(transaction) -> Result<T>, with the value handed out.
template <typename T, typename F>
Result<T> read_value(Database& database, F&& body) {
  Result<T> out = fail(ErrorCode::Internal, "the transaction did not run");
  LINTEL_TRY_VOID(database.read([&](Transaction& t) -> Result<void> {
    out = body(t);
    if (!out) return fail(out.error());
    return {};
  }));
  return out;
}
template <typename T, typename F>
Result<T> write_value(Database& database, F&& body) {
  Result<T> out = fail(ErrorCode::Internal, "the transaction did not run");
  LINTEL_TRY_VOID(database.write([&](Transaction& t) -> Result<void> {
    out = body(t);
    if (!out) return fail(out.error());
    return {};
  }));
  return out;
}

}  // namespace lintel::store
