// The whole database, table by table, whatever the engine: for backups. The tables are asked from
// the database itself, so that a new one is in the next backup without a word here.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "store/database.h"
#include "view/table_rows.h"

namespace lintel::store {

// What a backup leaves out, with the reason; everything else is in it.
struct LeftOutTable {
  std::string_view name, reason;
};
const std::vector<LeftOutTable>& tables_left_out();

// Tables of a backup; one that others refer to comes before them, else by name. Errors: Io,
// Internal for a column type that no migration uses.
Result<std::vector<view::TableShape>> whole_tables(Transaction& t);

// Highest migration that was applied.
Result<std::int64_t> schema_version(Transaction& t);

Result<std::int64_t> count_rows(Transaction& t, const view::TableShape& table);
// In the order of the primary key, by bytes: the same on both engines. Errors: also the sink's.
using RowSink = std::function<Result<void>(const view::TableRow&)>;
Result<void> dump_table(Transaction& t, const view::TableShape& table, const RowSink& sink);

// Does any table of a backup hold a row that a fresh database does not have?
Result<bool> holds_anything(Transaction& t);

// Fills the tables within one write transaction: begin, any number of rows of one table after the
// other in the order of whole_tables, finish. Without finish nothing may be committed.
class Filling {
 public:
  // Empties all tables, those left out too, append-only ones as well.
  static Result<Filling> begin(Transaction& t);
  Filling(Filling&&) noexcept;
  Filling& operator=(Filling&&) = delete;
  ~Filling();

  // Errors: Invalid for a row of another shape, those of the database.
  Result<void> add(const view::TableShape& table, const view::TableRow& row);
  // Puts back what begin has taken away, sets counters behind the highest number, checks foreign
  // keys. Errors: Invalid when one does not hold.
  Result<void> finish();

 private:
  struct State;
  explicit Filling(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace lintel::store
