#include "store/record_columns.h"

#include <functional>

#include "store/sql.h"

namespace lintel::store {
namespace {

using Prepared = soci::details::prepare_temp_type;

// Every row of a query about one record. `into` adds where the columns arrive, `take` gets each.
Result<void> each_row(Transaction& t, const std::string& query, const std::string& record,
                      const std::function<void(Prepared&)>& into,
                      const std::function<void()>& take) {
  return run_sql(t, "reading what stands beside a record", [&](soci::session& sql) {
    Prepared prepared(sql);
    prepared << query;
    prepared, soci::use(record, "record");
    into(prepared);
    soci::statement rows(prepared);
    rows.execute();
    while (rows.fetch()) take();
  });
}

Result<void> read_athlete(Transaction& t, const std::string& record, IndexRows& out) {
  AthleteRow row;
  LINTEL_TRY_VOID(each_row(
      t, "SELECT name, birth_date, sex FROM athletes WHERE record = :record", record,
      [&](Prepared& p) {
        p, soci::into(row.name), soci::into(row.birth_date), soci::into(row.sex);
      },
      [&] { out.athlete = row; }));
  if (!out.athlete) return {};
  std::string tag;
  return each_row(
      t, "SELECT tag FROM athlete_tags WHERE athlete = :record ORDER BY tag", record,
      [&](Prepared& p) { p, soci::into(tag); }, [&] { out.athlete->tags.push_back(tag); });
}

Result<void> read_tests(Transaction& t, const std::string& record, IndexRows& out) {
  TestRow row;
  return each_row(
      t,
      "SELECT protocol, side, date, unit, value, standard_error FROM test_results"
      " WHERE record = :record ORDER BY protocol, side, date, value",
      record,
      [&](Prepared& p) {
        p, soci::into(row.protocol), soci::into(row.side), soci::into(row.date),
            soci::into(row.unit), soci::into(row.value), soci::into(row.standard_error);
      },
      [&] { out.tests.push_back(row); });
}

Result<void> read_drills(Transaction& t, const std::string& record, IndexRows& out) {
  DrillRow row;
  std::int64_t pain = -1;
  return each_row(
      t,
      "SELECT drill, date, sets, minutes, COALESCE(pain, -1) FROM drill_sessions"
      " WHERE record = :record ORDER BY drill, date, sets",
      record,
      [&](Prepared& p) {
        p, soci::into(row.drill), soci::into(row.date), soci::into(row.sets),
            soci::into(row.minutes), soci::into(pain);
      },
      [&] {
        row.pain = pain < 0 ? std::nullopt : std::optional<std::int64_t>(pain);
        out.drills.push_back(row);
      });
}

Result<void> read_measures(Transaction& t, const std::string& record, IndexRows& out) {
  MeasureRow row;
  return each_row(
      t,
      "SELECT measure, date, unit, value, standard_error FROM trial_measures"
      " WHERE record = :record ORDER BY measure, date, value",
      record,
      [&](Prepared& p) {
        p, soci::into(row.measure), soci::into(row.date), soci::into(row.unit),
            soci::into(row.value), soci::into(row.standard_error);
      },
      [&] { out.measures.push_back(row); });
}

}  // namespace

Result<IndexRows> columns_of_record(Transaction& t, std::string_view record_view) {
  const std::string record(record_view);
  IndexRows out;
  LINTEL_TRY_VOID(each_row(
      t, "SELECT date FROM records WHERE id = :record", record,
      [&](Prepared& p) { p, soci::into(out.date); }, [] {}));
  LINTEL_TRY_VOID(read_athlete(t, record, out));
  LINTEL_TRY_VOID(read_tests(t, record, out));
  LINTEL_TRY_VOID(read_drills(t, record, out));
  LINTEL_TRY_VOID(read_measures(t, record, out));
  DueRow due;
  LINTEL_TRY_VOID(each_row(
      t, "SELECT what, date FROM due_dates WHERE record = :record ORDER BY date, what", record,
      [&](Prepared& p) { p, soci::into(due.what), soci::into(due.date); },
      [&] { out.due.push_back(due); }));
  return out;
}

Result<std::vector<RecordMedia>> media_of_record(Transaction& t, std::string_view record) {
  std::vector<RecordMedia> out;
  RecordMedia row;
  LINTEL_TRY_VOID(each_row(
      t,
      "SELECT sha256, media_type, bytes FROM media_references WHERE record = :record"
      " ORDER BY sha256",
      std::string(record),
      [&](Prepared& p) {
        p, soci::into(row.sha256), soci::into(row.media_type), soci::into(row.bytes);
      },
      [&] { out.push_back(row); }));
  return out;
}

Result<bool> id_is_taken(Transaction& t, std::string_view id) {
  std::int64_t count = 0;
  LINTEL_TRY_VOID(each_row(
      t, "SELECT COUNT(*) FROM records WHERE id = :record", std::string(id),
      [&](Prepared& p) { p, soci::into(count); }, [] {}));
  return count > 0;
}

}  // namespace lintel::store
