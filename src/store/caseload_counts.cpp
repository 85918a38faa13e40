#include "store/caseload_counts.h"

#include <algorithm>
#include <map>
#include <vector>

#include "store/row_writer.h"

namespace lintel::store {
namespace {

void add_lines(std::string_view lines, std::int64_t how_many,
               std::map<std::string, std::int64_t>& changes) {
  while (!lines.empty()) {
    const std::size_t end = std::min(lines.find('\n'), lines.size());
    changes[std::string(lines.substr(0, end))] += how_many;
    lines.remove_prefix(std::min(end + 1, lines.size()));
  }
}

}  // namespace

std::string counted_in(std::string_view state, std::string_view taken_in, std::string_view next_due,
                       std::string_view stalled_from) {
  if (state == "archived") return "archived \n";
  if (state != "active") return {};
  std::string out = "active \n";
  out += "new " + std::string(taken_in) + "\n";
  out += "stalled " + std::string(stalled_from) + "\n";
  if (!next_due.empty()) out += "due " + std::string(next_due) + "\n";
  return out;
}

Result<void> recount(Transaction& t, const std::string& organization, std::string_view before,
                     std::string_view now) {
  if (before == now) return {};
  std::map<std::string, std::int64_t> changes;  // in one order for all writers
  add_lines(before, -1, changes);
  add_lines(now, +1, changes);
  std::vector<std::vector<Cell>> rows;
  for (const auto& [line, change] : changes) {
    const std::size_t space = line.find(' ');
    if (change == 0) continue;
    rows.push_back({organization, line.substr(0, space), line.substr(space + 1), change});
  }
  return insert_rows(t, "counting the caseload", "athlete_counts",
                     "organization, view, day, athletes", rows,
                     "ON CONFLICT (organization, view, day) DO UPDATE SET athletes ="
                     " athlete_counts.athletes + excluded.athletes");
}

Result<CaseloadCounts> read_counts(Transaction& t, const std::string& organization,
                                   const std::string& today, const std::string& new_since) {
  return run_sql(t, "counting the caseload", [&](soci::session& sql) {
    CaseloadCounts out;
    std::string view;
    std::int64_t athletes = 0;
    soci::statement rows =
        (sql.prepare << "SELECT view, CAST(SUM(athletes) AS BIGINT) FROM athlete_counts"
                        " WHERE organization = :organization AND (view IN ('active', 'archived')"
                        " OR (view IN ('due', 'stalled') AND day <= :today)"
                        " OR (view = 'new' AND day >= :new_since)) GROUP BY view",
         soci::use(organization, "organization"), soci::use(today, "today"),
         soci::use(new_since, "new_since"), soci::into(view), soci::into(athletes));
    rows.execute();
    while (rows.fetch()) {
      if (view == "active") out.active = athletes;
      if (view == "archived") out.archived = athletes;
      if (view == "due") out.due = athletes;
      if (view == "stalled") out.stalled = athletes;
      if (view == "new") out.taken_in = athletes;
    }
    return out;
  });
}

}  // namespace lintel::store
