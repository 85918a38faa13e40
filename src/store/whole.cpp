#include "store/whole.h"

#include <algorithm>
#include <deque>
#include <map>
#include <set>
#include <utility>

#include "store/sql.h"

namespace lintel::store {
namespace {

using view::ColumnType;
using view::TableCell;
using view::TableColumn;
using view::TableRow;
using view::TableShape;

constexpr std::string_view kMigrations = "schema_migration";

// Names come from the catalog of our own schema, never from outside.
std::string quoted(const std::string& name) {
  return "\"" + name + "\"";
}

Result<std::vector<std::string>> strings_of(Transaction& t, const std::string& query) {
  return run_sql(t, "reading the schema", [&](soci::session& sql) {
    std::vector<std::string> out;
    std::string name;
    soci::statement rows = (sql.prepare << query, soci::into(name));
    rows.execute();
    while (rows.fetch()) out.push_back(name);
    return out;
  });
}

Result<std::vector<std::string>> all_tables(Transaction& t) {
  return strings_of(
      t, t.sqlite() ? "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE "
                      "'sqlite%' ORDER BY name"
                    : "SELECT CAST(tablename AS TEXT) FROM pg_tables WHERE schemaname = "
                      "ANY (current_schemas(false)) ORDER BY tablename COLLATE \"C\"");
}

// What this table refers to.
Result<std::set<std::string>> referred_tables(Transaction& t, const std::string& table) {
  const std::vector<std::string> names = LINTEL_TRY(strings_of(
      t, t.sqlite() ? "SELECT \"table\" FROM pragma_foreign_key_list('" + table + "')"
                    : "SELECT CAST(r.relname AS TEXT) FROM pg_constraint c JOIN pg_class r ON "
                      "r.oid = c.confrelid WHERE c.contype = 'f' AND c.conrelid = CAST('\"" +
                          table + "\"' AS regclass)"));
  return std::set<std::string>(names.begin(), names.end());
}

Result<ColumnType> column_type(const std::string& name) {
  static const std::map<std::string, ColumnType> kTypes = {
      {"INTEGER", ColumnType::Integer}, {"bigint", ColumnType::Integer},
      {"REAL", ColumnType::Real},       {"double precision", ColumnType::Real},
      {"TEXT", ColumnType::Text},       {"text", ColumnType::Text}};
  const auto found = kTypes.find(name);
  if (found != kTypes.end()) return found->second;
  return fail(ErrorCode::Internal, "a column has the type " + name + ", which no backup knows");
}

Result<TableShape> shape_of(Transaction& t, const std::string& table) {
  struct Column {
    std::string name, type;
    std::int64_t key = 0;
  };
  const std::string query =
      t.sqlite() ? "SELECT name, type, pk FROM pragma_table_info('" + table + "') ORDER BY cid"
                 : "SELECT CAST(a.attname AS TEXT), format_type(a.atttypid, NULL), "
                   "COALESCE(array_position(CAST(i.indkey AS int2[]), a.attnum) + 1, 0) "
                   "FROM pg_attribute a LEFT JOIN pg_index i ON i.indrelid = a.attrelid AND "
                   "i.indisprimary WHERE a.attrelid = CAST('\"" +
                       table +
                       "\"' AS regclass) AND a.attnum > 0 AND NOT a.attisdropped ORDER BY a.attnum";
  const auto columns = LINTEL_TRY(run_sql(t, "reading the schema", [&](soci::session& sql) {
    std::vector<Column> out;
    Column column;
    soci::statement rows = (sql.prepare << query, soci::into(column.name), soci::into(column.type),
                            soci::into(column.key));
    rows.execute();
    while (rows.fetch()) out.push_back(column);
    return out;
  }));
  TableShape shape{table, {}, {}};
  std::map<std::int64_t, std::size_t> key;
  for (const Column& column : columns) {
    if (column.key > 0) key[column.key] = shape.columns.size();
    shape.columns.push_back({column.name, LINTEL_TRY(column_type(column.type))});
  }
  for (const auto& [place, index] : key) shape.key.push_back(index);
  return shape;
}

bool is_left_out(const std::string& table) {
  const auto& list = tables_left_out();
  return std::any_of(list.begin(), list.end(),
                     [&](const LeftOutTable& out) { return out.name == table; });
}

// Those that others refer to first, else by name.
Result<std::vector<std::string>> in_order(Transaction& t, std::vector<std::string> tables) {
  std::map<std::string, std::set<std::string>> waits_for;
  for (const std::string& table : tables) {
    waits_for[table] = LINTEL_TRY(referred_tables(t, table));
    waits_for[table].erase(table);
  }
  std::vector<std::string> out;
  while (!waits_for.empty()) {
    const auto free = std::find_if(waits_for.begin(), waits_for.end(),
                                   [](const auto& entry) { return entry.second.empty(); });
    if (free == waits_for.end()) {
      return fail(ErrorCode::Internal, "tables refer to each other in a circle");
    }
    const std::string table = free->first;
    out.push_back(table);
    waits_for.erase(free);
    for (auto& [name, others] : waits_for) others.erase(table);
  }
  return out;
}

// Values of one row, each in a place of its own that SOCI may keep a reference to.
struct Holder {
  ColumnType type = ColumnType::Text;
  std::int64_t integer = 0;
  double real = 0.0;
  std::string text;
  soci::indicator state = soci::i_ok;

  TableCell cell() const {
    if (state == soci::i_null) return {};
    switch (type) {
      case ColumnType::Integer:
        return integer;
      case ColumnType::Real:
        return real;
      case ColumnType::Text:
        break;
    }
    return text;
  }
  // False when the value is of another type.
  bool set(const TableCell& value) {
    state = std::holds_alternative<std::monostate>(value) ? soci::i_null : soci::i_ok;
    if (state == soci::i_null) return true;
    switch (type) {
      case ColumnType::Integer:
        if (const auto* found = std::get_if<std::int64_t>(&value)) return integer = *found, true;
        return false;
      case ColumnType::Real:
        if (const auto* found = std::get_if<double>(&value)) return real = *found, true;
        return false;
      case ColumnType::Text:
        if (const auto* found = std::get_if<std::string>(&value)) return text = *found, true;
        return false;
    }
    return false;
  }
};

std::deque<Holder> holders_of(const TableShape& table) {
  std::deque<Holder> out;
  for (const TableColumn& column : table.columns) out.emplace_back().type = column.type;
  return out;
}

std::string column_list(const TableShape& table) {
  std::string out;
  for (const TableColumn& column : table.columns) {
    out += (out.empty() ? "" : ", ") + quoted(column.name);
  }
  return out;
}

std::string order_of(const TableShape& table, bool sqlite) {
  std::vector<std::size_t> columns = table.key;
  for (std::size_t i = 0; columns.empty() || table.key.empty(); ++i) {
    if (i == table.columns.size()) break;
    columns.push_back(i);
  }
  std::string out;
  for (const std::size_t i : columns) {
    const TableColumn& column = table.columns[i];
    out += (out.empty() ? "" : ", ") + quoted(column.name);
    if (column.type == ColumnType::Text) out += sqlite ? " COLLATE BINARY" : " COLLATE \"C\"";
    out += " NULLS FIRST";
  }
  return out;
}

void take_rows(soci::statement& rows, std::deque<Holder>& holders, const RowSink& sink,
               Result<void>& done, std::int64_t& count) {
  rows.alloc();
  for (Holder& holder : holders) {
    switch (holder.type) {
      case ColumnType::Integer:
        rows.exchange(soci::into(holder.integer, holder.state));
        break;
      case ColumnType::Real:
        rows.exchange(soci::into(holder.real, holder.state));
        break;
      case ColumnType::Text:
        rows.exchange(soci::into(holder.text, holder.state));
        break;
    }
  }
  rows.define_and_bind();
  rows.execute();
  TableRow row(holders.size());
  while (done && rows.fetch()) {
    for (std::size_t i = 0; i < holders.size(); ++i) row[i] = holders[i].cell();
    ++count;
    done = sink(row);
  }
}

}  // namespace

const std::vector<LeftOutTable>& tables_left_out() {
  static const std::vector<LeftOutTable> kList = {
      {kMigrations, "belongs to the schema, not to the records"},
      {"sessions", "nobody is signed in after a restore"},
      {"sign_in_attempts", "counts of a moment"},
      {"uploads", "files that were on their way"},
      {"hand_offs", "secrets for half an hour"},
      {"once_keys", "answers of the last day"},
  };
  return kList;
}

Result<std::vector<TableShape>> whole_tables(Transaction& t) {
  std::vector<std::string> names = LINTEL_TRY(all_tables(t));
  std::vector<TableShape> out;
  for (const std::string& name : LINTEL_TRY(in_order(t, std::move(names)))) {
    if (!is_left_out(name)) out.push_back(LINTEL_TRY(shape_of(t, name)));
  }
  return out;
}

Result<std::int64_t> schema_version(Transaction& t) {
  return run_sql(t, "reading the version of the schema", [](soci::session& sql) {
    std::int64_t version = 0;
    sql << "SELECT COALESCE(MAX(version), 0) FROM schema_migration", soci::into(version);
    return version;
  });
}

Result<std::int64_t> count_rows(Transaction& t, const TableShape& table) {
  return run_sql(t, "counting rows", [&](soci::session& sql) {
    std::int64_t rows = 0;
    sql << "SELECT COUNT(*) FROM " + quoted(table.name), soci::into(rows);
    return rows;
  });
}

Result<void> dump_table(Transaction& t, const TableShape& table, const RowSink& sink) {
  const std::string query = "SELECT " + column_list(table) + " FROM " + quoted(table.name) +
                            " ORDER BY " + order_of(table, t.sqlite());
  return run_sql(t, "reading a table", [&](soci::session& sql) -> Result<void> {
    std::deque<Holder> holders = holders_of(table);
    Result<void> done;
    std::int64_t count = 0;
    if (t.sqlite()) {
      soci::statement rows(sql);
      rows.alloc();
      rows.prepare(query);
      take_rows(rows, holders, sink, done, count);
      return done;
    }
    // The client would take all rows into memory at once.
    sql << "DECLARE lintel_whole NO SCROLL CURSOR FOR " + query;
    std::int64_t before = -1;
    while (done && count != before) {
      before = count;
      soci::statement rows(sql);
      rows.alloc();
      rows.prepare("FETCH 2000 FROM lintel_whole", soci::details::st_one_time_query);
      take_rows(rows, holders, sink, done, count);
    }
    if (done) sql << "CLOSE lintel_whole";
    return done;
  });
}

Result<bool> holds_anything(Transaction& t) {
  for (const char* table : {"records", "accounts", "audit_trail", "jobs"}) {
    if (LINTEL_TRY(count_rows(t, TableShape{table, {}, {}})) > 0) return true;
  }
  return false;
}

// ---- Filling

struct Filling::State {
  explicit State(Transaction& transaction) : t(transaction) {}

  Transaction& t;
  std::vector<TableShape> tables;
  std::vector<std::string> back;  // statements that put back what was taken away
  std::string table;              // being filled
  std::deque<Holder> holders;
  std::deque<std::string> bindings;
  std::unique_ptr<soci::statement> insert;

  Result<void> run(const std::string& statement) {
    return run_sql(t, "filling the tables", [&](soci::session& sql) { sql << statement; });
  }
  Result<void> release_sqlite();
  Result<void> release_postgresql();
  Result<void> prepare(const TableShape& shape);
  Result<void> set_counters();
};

Result<void> Filling::State::release_sqlite() {
  LINTEL_TRY_VOID(run("PRAGMA defer_foreign_keys = ON"));
  back = LINTEL_TRY(strings_of(t, "SELECT sql FROM sqlite_master WHERE type = 'trigger'"));
  const std::vector<std::string> triggers =
      LINTEL_TRY(strings_of(t, "SELECT name FROM sqlite_master WHERE type = 'trigger'"));
  for (const std::string& trigger : triggers) {
    LINTEL_TRY_VOID(run("DROP TRIGGER " + quoted(trigger)));
  }
  return {};
}

Result<void> Filling::State::release_postgresql() {
  const std::string of_ours = " = ANY (current_schemas(false))";
  const std::vector<std::string> with_triggers = LINTEL_TRY(strings_of(
      t,
      "SELECT DISTINCT CAST(c.relname AS TEXT) FROM pg_trigger g JOIN pg_class c ON c.oid = "
      "g.tgrelid JOIN pg_namespace n ON n.oid = c.relnamespace WHERE NOT g.tgisinternal AND "
      "n.nspname" +
          of_ours));
  // Rows may refer to rows of the same table that come later.
  const std::vector<std::string> keys = LINTEL_TRY(strings_of(
      t,
      "SELECT format('ALTER TABLE %I ALTER CONSTRAINT %I', c.relname, k.conname) FROM "
      "pg_constraint k JOIN pg_class c ON c.oid = k.conrelid JOIN pg_namespace n ON n.oid = "
      "c.relnamespace WHERE k.contype = 'f' AND NOT k.condeferrable AND n.nspname" +
          of_ours));
  back.push_back("SET CONSTRAINTS ALL IMMEDIATE");
  for (const std::string& key : keys) {
    LINTEL_TRY_VOID(run(key + " DEFERRABLE INITIALLY DEFERRED"));
    back.push_back(key + " NOT DEFERRABLE");
  }
  for (const std::string& name : with_triggers) {
    LINTEL_TRY_VOID(run("ALTER TABLE " + quoted(name) + " DISABLE TRIGGER USER"));
    back.push_back("ALTER TABLE " + quoted(name) + " ENABLE TRIGGER USER");
  }
  return {};
}

Filling::Filling(std::unique_ptr<State> state) : state_(std::move(state)) {}
Filling::Filling(Filling&&) noexcept = default;
Filling::~Filling() = default;

Result<Filling> Filling::begin(Transaction& t) {
  auto state = std::make_unique<State>(t);
  state->tables = LINTEL_TRY(whole_tables(t));
  LINTEL_TRY_VOID(t.sqlite() ? state->release_sqlite() : state->release_postgresql());
  std::vector<std::string> names = LINTEL_TRY(all_tables(t));
  names = LINTEL_TRY(in_order(t, std::move(names)));
  std::reverse(names.begin(), names.end());
  for (const std::string& name : names) {
    if (name != kMigrations) LINTEL_TRY_VOID(state->run("DELETE FROM " + quoted(name)));
  }
  return Filling(std::move(state));
}

Result<void> Filling::State::prepare(const TableShape& shape) {
  insert.reset();
  holders = holders_of(shape);
  bindings.clear();
  std::string places;
  for (std::size_t i = 0; i < shape.columns.size(); ++i) {
    bindings.push_back("v" + std::to_string(i));
    places += (i == 0 ? ":" : ", :") + bindings.back();
  }
  return run_sql(t, "filling the tables", [&](soci::session& sql) {
    insert = std::make_unique<soci::statement>(sql);
    insert->alloc();
    insert->prepare("INSERT INTO " + quoted(shape.name) + " (" + column_list(shape) + ") VALUES (" +
                    places + ")");
    for (std::size_t i = 0; i < holders.size(); ++i) {
      Holder& holder = holders[i];
      switch (holder.type) {
        case ColumnType::Integer:
          insert->exchange(soci::use(holder.integer, holder.state, bindings[i]));
          break;
        case ColumnType::Real:
          insert->exchange(soci::use(holder.real, holder.state, bindings[i]));
          break;
        case ColumnType::Text:
          insert->exchange(soci::use(holder.text, holder.state, bindings[i]));
          break;
      }
    }
    insert->define_and_bind();
    table = shape.name;
  });
}

Result<void> Filling::add(const TableShape& table, const TableRow& row) {
  State& state = *state_;
  if (state.table != table.name || !state.insert) LINTEL_TRY_VOID(state.prepare(table));
  bool fits = row.size() == state.holders.size();
  for (std::size_t i = 0; fits && i < row.size(); ++i) fits = state.holders[i].set(row[i]);
  if (!fits) {
    return fail(ErrorCode::Invalid, "a row does not fit its table " + table.name,
                "take another copy of this backup");
  }
  return run_sql(state.t, "filling the tables",
                 [&](soci::session&) { state.insert->execute(true); });
}

// Numbers that the engine hands out by itself go on behind the highest one.
Result<void> Filling::State::set_counters() {
  if (t.sqlite()) return {};  // AUTOINCREMENT looks at the rows that are there
  for (const TableShape& shape : tables) {
    for (const TableColumn& column : shape.columns) {
      if (column.type != ColumnType::Integer) continue;
      const std::string sequence =
          "pg_get_serial_sequence('" + quoted(shape.name) + "', '" + column.name + "')";
      LINTEL_TRY_VOID(run("SELECT setval(CAST(" + sequence +
                          " AS regclass), (SELECT COALESCE(MAX(" + quoted(column.name) +
                          "), 0) + 1 FROM " + quoted(shape.name) + "), false) WHERE " + sequence +
                          " IS NOT NULL"));
    }
  }
  return {};
}

Result<void> Filling::finish() {
  State& state = *state_;
  state.insert.reset();
  if (state.t.sqlite()) {
    const std::vector<std::string> broken =
        LINTEL_TRY(strings_of(state.t, "SELECT DISTINCT \"table\" FROM pragma_foreign_key_check"));
    if (!broken.empty()) {
      return fail(ErrorCode::Invalid, "rows of " + broken.front() + " refer to what is not there",
                  "take another copy of this backup");
    }
  }
  for (const std::string& statement : state.back) LINTEL_TRY_VOID(state.run(statement));
  return state.set_counters();
}

}  // namespace lintel::store
