// Inside of store/ and for its tests: the schema, forward only, in numbered steps.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"

namespace lintel::store {

struct Migration {
  int version = 0;   // the number at the start of the file name
  std::string name;  // "001_records"
  std::string text;
};
// Those of src/store/migrations, by number. A bad name ends the program: it is built in.
std::vector<Migration> embedded_migrations();

// The statements of a migration in the words of one engine. A statement ends with ";" at the end of
// a line; inside $$ ... $$, and between a line "BEGIN" and a line "END;", it does not. {bigint},
// {real}, {text}, {identity} and {strict} become the engine's words; a statement that begins with
// {sqlite} or {postgresql} is for that engine alone; lines that begin with "--" are left out.
// Errors: Internal for an unknown token.
Result<std::vector<std::string>> statements_of(const Migration& migration, Engine engine);

// What was applied already, by version. Nothing when the schema is empty.
struct AppliedMigration {
  int version = 0;
  std::string sha256, applied_at;
};
Result<std::vector<AppliedMigration>> applied_migrations(Database& database);

// Those still to be applied. Errors: Unsupported when the database knows more than `migrations`;
// Conflict when one was changed since it was applied, or left out.
Result<std::vector<Migration>> pending_migrations(const std::vector<AppliedMigration>& applied,
                                                  std::span<const Migration> migrations);

// Applies what is missing, each in its own transaction; another process may do the same now.
Result<void> migrate(Database& database, std::span<const Migration> migrations);

// Database::open with these instead of the embedded ones.
Result<std::unique_ptr<Database>> open_with_migrations(const DatabaseOptions& options,
                                                       std::span<const Migration> migrations);

}  // namespace lintel::store
