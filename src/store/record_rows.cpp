#include "store/record_rows.h"

#include <vector>

#include "base/date.h"
#include "store/athlete_summary.h"
#include "store/row_writer.h"

namespace lintel::store {
namespace {

using Rows = std::vector<std::vector<Cell>>;

Result<void> check_day(std::string_view day, std::string field, bool may_be_empty) {
  if ((day.empty() && may_be_empty) || Date::parse(day)) return {};
  Error error{ErrorCode::Invalid, "this is not a day", {}, "write it as 2026-03-09", {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<void> write_results(Transaction& t, const Record& record, const IndexRows& index) {
  Rows tests, drills, measures, due;
  for (const TestRow& row : index.tests) {
    tests.push_back({record.id, record.organization, record.athlete, row.protocol, row.side,
                     row.date, row.unit, row.value, row.standard_error});
  }
  for (const DrillRow& row : index.drills) {
    drills.push_back({record.id, record.organization, record.athlete, row.drill, row.date, row.sets,
                      row.minutes, row.pain ? Cell(*row.pain) : Cell()});
  }
  for (const MeasureRow& row : index.measures) {
    measures.push_back({record.id, record.organization, record.athlete, row.measure, row.date,
                        row.unit, row.value, row.standard_error});
  }
  for (const DueRow& row : index.due) {
    due.push_back({record.id, record.athlete, row.what, row.date});
  }
  LINTEL_TRY_VOID(insert_rows(t, "writing test results", "test_results",
                              "record, organization, athlete, protocol, side, date, unit, value,"
                              " standard_error",
                              tests));
  LINTEL_TRY_VOID(insert_rows(t, "writing drills", "drill_sessions",
                              "record, organization, athlete, drill, date, sets, minutes, pain",
                              drills));
  LINTEL_TRY_VOID(insert_rows(t, "writing measures", "trial_measures",
                              "record, organization, athlete, measure, date, unit, value,"
                              " standard_error",
                              measures));
  return insert_rows(t, "writing what is due", "due_dates", "record, athlete, what, date", due);
}

// Only some kinds have such rows; the others need not be asked.
Result<void> clear_results(Transaction& t, const std::string& record) {
  return run_sql(t, "replacing the columns", [&](soci::session& sql) {
    for (const char* table : {"test_results", "drill_sessions", "trial_measures", "due_dates"}) {
      sql << "DELETE FROM " << table << " WHERE record = :record", soci::use(record, "record");
    }
  });
}

// Does this version change what the caseload shows of its athlete?
bool concerns_the_caseload(const Record& record, const IndexRows& index) {
  if (record.athlete.empty()) return false;
  const bool shown = record.kind == RecordKind::Athlete || record.kind == RecordKind::Visit ||
                     record.kind == RecordKind::Plan || record.kind == RecordKind::SessionLog;
  return shown || record.version > 1 || !index.due.empty() || !index.measures.empty();
}

}  // namespace

void RecordOut::into(soci::details::prepare_temp_type& statement) {
  statement, soci::into(row_.id), soci::into(kind_), soci::into(row_.organization),
      soci::into(row_.athlete), soci::into(row_.parent), soci::into(row_.version),
      soci::into(state_), soci::into(row_.created_at), soci::into(row_.created_by),
      soci::into(row_.changed_at), soci::into(row_.changed_by), soci::into(row_.reason),
      soci::into(row_.document), soci::into(row_.sha256);
}

Record RecordOut::record() const {
  Record out = row_;
  const std::optional<RecordKind> kind = record_kind_from(kind_);
  const std::optional<RecordState> state = record_state_from(state_);
  LINTEL_CHECK(kind && state);
  out.kind = *kind;
  out.state = *state;
  return out;
}

Result<void> check_index(const IndexRows& index) {
  LINTEL_TRY_VOID(check_day(index.date, "date", true));
  if (index.athlete) LINTEL_TRY_VOID(check_day(index.athlete->birth_date, "birth_date", true));
  for (const TestRow& row : index.tests) LINTEL_TRY_VOID(check_day(row.date, "tests.date", false));
  for (const DrillRow& row : index.drills) {
    LINTEL_TRY_VOID(check_day(row.date, "drills.date", false));
  }
  for (const MeasureRow& row : index.measures) {
    LINTEL_TRY_VOID(check_day(row.date, "measures.date", false));
  }
  for (const DueRow& row : index.due) LINTEL_TRY_VOID(check_day(row.date, "due.date", false));
  return {};
}

Result<void> write_index(Transaction& t, const Record& record, const IndexRows& index) {
  if (record.version > 1) LINTEL_TRY_VOID(clear_results(t, record.id));
  if (record.kind == RecordKind::Athlete) {
    LINTEL_TRY_VOID(write_athlete_row(t, record, index.athlete.value_or(AthleteRow{})));
  }
  LINTEL_TRY_VOID(write_results(t, record, index));
  if (!concerns_the_caseload(record, index)) return {};
  return refresh_athlete(t, record.athlete);
}

}  // namespace lintel::store
