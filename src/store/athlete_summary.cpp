#include "store/athlete_summary.h"

#include <algorithm>
#include <set>

#include "base/date.h"
#include "store/caseload_counts.h"
#include "store/name_fold.h"
#include "store/name_words.h"
#include "store/row_writer.h"

namespace lintel::store {
namespace {

constexpr std::string_view kNever = "9999-12-31";

struct Summary {
  std::string organization, state, counted, taken_in, last_visit, last_session, plan_since,
      next_due, due_what;
  std::optional<double> trunk_deg, trunk_error_deg;
};

std::string days_after(std::string_view day, int days) {
  const Result<Date> date = Date::parse(day);
  return date ? (*date + days).iso() : std::string(kNever);
}

Result<Summary> read_days(Transaction& t, const std::string& athlete) {
  return run_sql(t, "reading the days of an athlete", [&](soci::session& sql) {
    Summary out;
    sql << "SELECT organization, state, counted, taken_in,"
           " COALESCE((SELECT MAX(date) FROM records WHERE athlete = :athlete"
           "   AND kind = 'visit' AND state = 'active'), ''),"
           " COALESCE((SELECT MAX(date) FROM records WHERE athlete = :athlete"
           "   AND kind = 'session_log' AND state = 'active'), ''),"
           " COALESCE((SELECT MAX(CASE WHEN date = '' THEN substr(created_at, 1, 10) ELSE date END)"
           "   FROM records WHERE athlete = :athlete AND kind = 'plan' AND state = 'active'), '')"
           " FROM athletes WHERE record = :athlete",
        soci::use(athlete, "athlete"), soci::into(out.organization), soci::into(out.state),
        soci::into(out.counted), soci::into(out.taken_in), soci::into(out.last_visit),
        soci::into(out.last_session), soci::into(out.plan_since);
    return out;
  });
}

// The newest record of a kind says what is due; a visit on that day or later settles it.
Result<void> read_due(Transaction& t, const std::string& athlete, Summary& out) {
  return run_sql(t, "reading what is due", [&](soci::session& sql) {
    sql << "SELECT d.date, d.what FROM due_dates d JOIN records r ON r.id = d.record"
           " WHERE d.athlete = :athlete AND d.date > :last_visit AND r.state = 'active'"
           " AND NOT EXISTS (SELECT 1 FROM records n WHERE n.athlete = :athlete"
           "   AND n.kind = r.kind AND n.state = 'active'"
           "   AND (n.date, n.created_at, n.id) > (r.date, r.created_at, r.id))"
           " ORDER BY d.date, d.what LIMIT 1",
        soci::use(athlete, "athlete"), soci::use(out.last_visit, "last_visit"),
        soci::into(out.next_due), soci::into(out.due_what);
  });
}

Result<void> read_trunk(Transaction& t, const std::string& athlete, Summary& out) {
  return run_sql(t, "reading the last measurement", [&](soci::session& sql) {
    double value = 0.0, error = 0.0;
    sql << "SELECT m.value, m.standard_error FROM trial_measures m"
           " JOIN records r ON r.id = m.record"
           " WHERE m.athlete = :athlete AND m.measure = 'trunk_inclination'"
           " AND r.state = 'active' ORDER BY m.date DESC, r.created_at DESC, r.id DESC LIMIT 1",
        soci::use(athlete, "athlete"), soci::into(value), soci::into(error);
    if (!sql.got_data()) return;
    out.trunk_deg = value;
    out.trunk_error_deg = error;
  });
}

// Tags between line breaks, so that a list needs no second table.
std::string joined(const std::vector<std::string>& tags) {
  std::string out;
  for (const std::string& tag : tags) out += (out.empty() ? "" : "\n") + tag;
  return out;
}

Result<void> write_tags(Transaction& t, const Record& record,
                        const std::vector<std::string>& tags) {
  LINTEL_TRY_VOID(run_sql(t, "changing the tags", [&](soci::session& sql) {
    sql << "DELETE FROM athlete_tags WHERE athlete = :athlete", soci::use(record.id, "athlete");
  }));
  std::vector<std::vector<Cell>> rows;
  for (const std::string& tag : std::set<std::string>(tags.begin(), tags.end())) {
    rows.push_back({record.organization, tag, record.id});
  }
  return insert_rows(t, "changing the tags", "athlete_tags", "organization, tag, athlete", rows);
}

}  // namespace

std::string stalled_from(std::string_view taken_in, std::string_view last_visit,
                         std::string_view plan_since, std::string_view last_session) {
  std::string from = days_after(std::max(taken_in, last_visit), kDaysWithoutVisit + 1);
  if (!plan_since.empty()) {
    from = std::min(from, days_after(std::max(plan_since, last_session), kDaysWithoutSession + 1));
  }
  return from;
}

Result<void> write_athlete_row(Transaction& t, const Record& record, const AthleteRow& row) {
  LINTEL_TRY_VOID(run_sql(t, "writing the athlete", [&](soci::session& sql) {
    const std::string state(record_state_name(record.state));
    const std::string taken_in = record.created_at.substr(0, 10);
    const std::string folded = fold_name(row.name);
    const std::string tags = joined(row.tags);
    sql << "INSERT INTO athletes (record, organization, state, version, changed_at, taken_in, name,"
           " name_folded, birth_date, sex, tags, counted, last_visit, last_session, next_due,"
           " due_what, stalled_from) VALUES (:record, :organization, :state, :version, :changed_at,"
           " :taken_in, :name, :folded, :birth_date, :sex, :tags, '', '', '', '', '', '')"
           " ON CONFLICT (record) DO UPDATE SET state = excluded.state, version = excluded.version,"
           " changed_at = excluded.changed_at, name = excluded.name,"
           " name_folded = excluded.name_folded, birth_date = excluded.birth_date,"
           " sex = excluded.sex, tags = excluded.tags",
        soci::use(record.id, "record"), soci::use(record.organization, "organization"),
        soci::use(state, "state"), soci::use(record.version, "version"),
        soci::use(record.changed_at, "changed_at"), soci::use(taken_in, "taken_in"),
        soci::use(row.name, "name"), soci::use(folded, "folded"),
        soci::use(row.birth_date, "birth_date"), soci::use(row.sex, "sex"), soci::use(tags, "tags");
  }));
  LINTEL_TRY_VOID(write_name_words(t, record, fold_name(row.name)));
  return write_tags(t, record, row.tags);
}

Result<void> note_athlete_version(Transaction& t, const Record& record) {
  return run_sql(t, "writing the athlete", [&](soci::session& sql) {
    const std::string state(record_state_name(record.state));
    sql << "UPDATE athletes SET state = :state, version = :version, changed_at = :changed_at"
           " WHERE record = :record",
        soci::use(state, "state"), soci::use(record.version, "version"),
        soci::use(record.changed_at, "changed_at"), soci::use(record.id, "record");
  });
}

Result<void> refresh_athlete(Transaction& t, const std::string& athlete) {
  Summary summary = LINTEL_TRY(read_days(t, athlete));
  LINTEL_TRY_VOID(read_due(t, athlete, summary));
  LINTEL_TRY_VOID(read_trunk(t, athlete, summary));
  const std::string stalled =
      stalled_from(summary.taken_in, summary.last_visit, summary.plan_since, summary.last_session);
  const std::string counted =
      counted_in(summary.state, summary.taken_in, summary.next_due, stalled);
  LINTEL_TRY_VOID(recount(t, summary.organization, summary.counted, counted));
  return run_sql(t, "writing the athlete", [&](soci::session& sql) {
    const OptionalIn<double> trunk(summary.trunk_deg), error(summary.trunk_error_deg);
    sql << "UPDATE athletes SET last_visit = :last_visit, last_session = :last_session,"
           " next_due = :next_due, due_what = :due_what, stalled_from = :stalled,"
           " counted = :counted, last_trunk_deg = :trunk, last_trunk_error_deg = :error WHERE "
           "record = :athlete",
        soci::use(summary.last_visit, "last_visit"),
        soci::use(summary.last_session, "last_session"), soci::use(summary.next_due, "next_due"),
        soci::use(summary.due_what, "due_what"), soci::use(stalled, "stalled"),
        soci::use(counted, "counted"), trunk.use("trunk"), error.use("error"),
        soci::use(athlete, "athlete");
  });
}

Result<void> forget_athlete(Transaction& t, const Record& record) {
  const Summary summary = LINTEL_TRY(read_days(t, record.id));
  LINTEL_TRY_VOID(recount(t, summary.organization, summary.counted, ""));
  return write_name_words(t, record, "");
}

}  // namespace lintel::store
