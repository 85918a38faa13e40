// Statistics over all athletes of an organization, by the database itself.
#include <utility>

#include "base/date.h"
#include "store/caseload_queries.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

constexpr int kYearsOfBand = 10;

std::string band_name(std::int64_t first_year) {
  if (first_year < 0) return {};
  return std::to_string(first_year) + "-" + std::to_string(first_year + kYearsOfBand - 1);
}

// The value at the k-th quarter of n sorted ones, between the two neighbours in proportion
// (Hyndman and Fan 1996, type 7; the same as percentile_cont of SQL). The position counts from 0:
// (n - 1) k / 4, so whole quarters are left over.
std::string quartile(int k) {
  const std::string steps = "(n - 1) * " + std::to_string(k);
  return "SUM(CASE WHEN place = " + steps + " / 4 THEN value * (1.0 - (" + steps +
         ") % 4 / 4.0) WHEN place = " + steps + " / 4 + 1 THEN value * ((" + steps +
         ") % 4 / 4.0) ELSE 0.0 END)";
}

// newest: one value for each athlete and side; aged: with the years of age; placed: sorted in its
// group, counted from 0.
std::string range_text() {
  return "WITH newest AS (SELECT x.athlete, x.side, x.unit, x.value, ROW_NUMBER() OVER"
         " (PARTITION BY x.athlete, x.side ORDER BY x.date DESC, r.created_at DESC, x.record DESC)"
         " AS age_rank FROM test_results x JOIN records r ON r.id = x.record"
         " WHERE x.organization = :organization AND x.protocol = :protocol"
         " AND x.date <= :today AND r.state <> 'withdrawn'),"
         " aged AS (SELECT n.side, n.unit, n.value, CASE WHEN a.birth_date = '' THEN -10 ELSE"
         " (CAST(substr(:today, 1, 4) AS INTEGER) - CAST(substr(a.birth_date, 1, 4) AS INTEGER)"
         " - CASE WHEN substr(a.birth_date, 6) > substr(:today, 6) THEN 1 ELSE 0 END)"
         " / 10 * 10 END AS band FROM newest n JOIN athletes a ON a.record = n.athlete"
         " WHERE n.age_rank = 1 AND a.state <> 'withdrawn'),"
         " placed AS (SELECT band, side, unit, value,"
         " ROW_NUMBER() OVER (PARTITION BY band, side, unit ORDER BY value) - 1 AS place,"
         " COUNT(*) OVER (PARTITION BY band, side, unit) AS n FROM aged)"
         " SELECT band, side, unit, MAX(n), " +
         quartile(2) + ", " + quartile(1) + ", " + quartile(3) +
         " FROM placed GROUP BY band, side, unit ORDER BY band, side, unit";
}

// Days of a drill for each athlete; the tests around them: the newest on or before the first day
// (or else the first after it), and the first on or after the last day (or else the newest). The
// days are text, so the weeks between are counted outside.
constexpr const char* kChangeText =
    "WITH done AS (SELECT d.drill, d.athlete, MIN(d.date) AS first_day, MAX(d.date) AS last_day"
    " FROM drill_sessions d JOIN records r ON r.id = d.record"
    " WHERE d.organization = :organization AND r.state <> 'withdrawn'"
    " GROUP BY d.drill, d.athlete),"
    " tested AS (SELECT x.athlete, x.side, x.date, x.unit, AVG(x.value) AS value"
    " FROM test_results x JOIN records r ON r.id = x.record"
    " WHERE x.organization = :organization AND x.protocol = :protocol AND r.state <> 'withdrawn'"
    " GROUP BY x.athlete, x.side, x.date, x.unit),"
    " spans AS (SELECT d.drill, d.athlete, x.side, x.unit,"
    " COALESCE(MAX(CASE WHEN x.date <= d.first_day THEN x.date END), MIN(x.date)) AS from_day,"
    " COALESCE(MIN(CASE WHEN x.date >= d.last_day THEN x.date END), MAX(x.date)) AS to_day"
    " FROM done d JOIN tested x ON x.athlete = d.athlete"
    " GROUP BY d.drill, d.athlete, x.side, x.unit)"
    " SELECT s.drill, s.unit, s.athlete, s.from_day, s.to_day, b.value - a.value FROM spans s"
    " JOIN athletes who ON who.record = s.athlete AND who.state <> 'withdrawn'"
    " JOIN tested a ON a.athlete = s.athlete AND a.side = s.side AND a.unit = s.unit"
    "  AND a.date = s.from_day"
    " JOIN tested b ON b.athlete = s.athlete AND b.side = s.side AND b.unit = s.unit"
    "  AND b.date = s.to_day"
    " WHERE s.to_day > s.from_day ORDER BY s.drill, s.unit, s.athlete, s.side";

// One athlete and side.
struct Change {
  std::string drill, unit, athlete, from_day, to_day;
  double difference = 0.0;
};

Result<std::vector<Change>> read_changes(Transaction& t, std::string_view organization,
                                         const std::string& protocol) {
  return run_sql(t, "comparing drills", [&](soci::session& sql) {
    const std::string of(organization);
    std::vector<Change> out;
    Change row;
    soci::statement rows =
        (sql.prepare << kChangeText, soci::use(of, "organization"), soci::use(protocol, "protocol"),
         soci::into(row.drill), soci::into(row.unit), soci::into(row.athlete),
         soci::into(row.from_day), soci::into(row.to_day), soci::into(row.difference));
    rows.execute();
    while (rows.fetch()) out.push_back(row);
    return out;
  });
}

}  // namespace

Result<std::vector<CohortRow>> cohort_range(Transaction& t, std::string_view organization,
                                            std::string_view protocol, std::string_view today) {
  if (!Date::parse(today)) {
    return fail(ErrorCode::Invalid, "this is not a day", "write it as 2026-03-09");
  }
  return run_sql(t, "reading the range of the cohort", [&](soci::session& sql) {
    const std::string of(organization), wanted(protocol), day(today);
    std::vector<CohortRow> out;
    CohortRow row;
    std::int64_t band = 0;
    soci::statement rows =
        (sql.prepare << range_text(), soci::use(of, "organization"), soci::use(wanted, "protocol"),
         soci::use(day, "today"), soci::into(band), soci::into(row.side), soci::into(row.unit),
         soci::into(row.athletes), soci::into(row.median), soci::into(row.low_quartile),
         soci::into(row.high_quartile));
    rows.execute();
    while (rows.fetch()) {
      row.band = band_name(band);
      out.push_back(row);
    }
    return out;
  });
}

Result<std::vector<DrillChangeRow>> cohort_change_by_drill(Transaction& t,
                                                           std::string_view organization,
                                                           std::string_view protocol) {
  const std::string wanted(protocol);
  std::vector<DrillChangeRow> out;
  std::int64_t sides = 0;
  std::string last_athlete;
  for (const Change& change : LINTEL_TRY(read_changes(t, organization, wanted))) {
    const Date from = LINTEL_TRY(Date::parse(change.from_day));
    const Date to = LINTEL_TRY(Date::parse(change.to_day));
    if (out.empty() || out.back().drill != change.drill || out.back().unit != change.unit) {
      out.push_back({change.drill, wanted, change.unit, 0, 0.0});
      sides = 0;
      last_athlete.clear();
    }
    DrillChangeRow& row = out.back();
    if (change.athlete != last_athlete) ++row.athletes;
    last_athlete = change.athlete;
    ++sides;  // the mean, one value at a time
    row.change_per_week += (change.difference / weeks_between(from, to) - row.change_per_week) /
                           static_cast<double>(sides);
  }
  return out;
}

}  // namespace lintel::store
