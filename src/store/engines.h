// Inside of store/: what differs between SQLite and PostgreSQL beyond the words of a statement.
#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "base/result.h"
#include "store/database.h"
#include "store/sql.h"

namespace lintel::store {

struct DatabaseAddress {
  Engine engine = Engine::Sqlite;
  std::filesystem::path file;  // SQLite
  std::string connection;      // PostgreSQL: libpq's own words
};
// Errors: Invalid for another scheme, no file, or a file name that cannot be handed on.
Result<DatabaseAddress> parse_database_url(std::string_view url);

// A connection with its settings. Errors: Io.
Result<std::unique_ptr<soci::session>> open_session(const DatabaseAddress& address,
                                                    int busy_wait_ms);

// A copy beside the file, "<file>.schema-<version>.copy", complete and on disk. Errors: Io.
Result<void> copy_before_migration(const DatabaseAddress& address, int version);

// Integrity and foreign keys. Errors: Invalid with what was found.
Result<void> check_sqlite(Transaction& t);
Result<void> check_postgresql(Transaction& t);

}  // namespace lintel::store
