#include "store/caseload_queries.h"

#include <algorithm>
#include <array>
#include <utility>

#include "base/date.h"
#include "store/athlete_summary.h"
#include "store/caseload_counts.h"
#include "store/cursor.h"
#include "store/name_fold.h"
#include "store/sql.h"

namespace lintel::store {
namespace {

constexpr std::array<std::pair<CaseloadView, std::string_view>, 6> kViewNames{{
    {CaseloadView::All, "all"},
    {CaseloadView::Today, "today"},
    {CaseloadView::Due, "due"},
    {CaseloadView::Stalled, "stalled"},
    {CaseloadView::New, "new"},
    {CaseloadView::Archived, "archived"},
}};

// A condition of one view, over `athletes a`, with one bound day at most (:day).
struct ViewFilter {
  std::string condition;
  std::string day;
};

Result<Date> parse_today(std::string_view today) {
  Result<Date> date = Date::parse(today);
  if (!date) {
    Error error{ErrorCode::Invalid, "this is not a day", {}, "write it as 2026-03-09", {}};
    error.place.field = "today";
    return fail(std::move(error));
  }
  return date;
}

ViewFilter filter_of(CaseloadView view, Date today) {
  const std::string active = "a.state = 'active'";
  switch (view) {
    case CaseloadView::All:
      break;
    case CaseloadView::Today:
      return {active +
                  " AND a.record IN (SELECT r.athlete FROM records r"
                  " WHERE r.organization = :organization AND r.kind = 'visit' AND r.date = :day"
                  " AND r.state = 'active')",
              today.iso()};
    case CaseloadView::Due:
      return {active + " AND a.next_due > '' AND a.next_due <= :day", today.iso()};
    case CaseloadView::Stalled:
      return {active + " AND a.stalled_from <= :day", today.iso()};
    case CaseloadView::New:
      return {active + " AND a.taken_in >= :day", (today - kDaysNew).iso()};
    case CaseloadView::Archived:
      return {"a.state = 'archived'", ""};
  }
  return {active, ""};
}

// "50 % of_it" as a pattern that means these very letters.
std::string containing(std::string_view part) {
  std::string out = "%";
  for (const char c : part) {
    if (c == '%' || c == '_' || c == '\\') out += '\\';
    out += c;
  }
  return out + "%";
}

std::vector<std::string> split_tags(std::string_view joined) {
  std::vector<std::string> out;
  while (!joined.empty()) {
    const std::size_t end = std::min(joined.find('\n'), joined.size());
    out.emplace_back(joined.substr(0, end));
    joined.remove_prefix(std::min(end + 1, joined.size()));
  }
  return out;
}

// Athletes that alone fulfil one condition, where these are few: then only they are looked at.
struct Narrow {
  std::string text;  // SELECT ... AS record, some perhaps more than once
  std::vector<std::pair<std::string, std::string>> values;  // bound beside :organization
};

// Behind every text that begins with `part`: the last character that there is.
std::string after_all(const std::string& part) {
  return part + "\xF4\x8F\xBF\xBF";
}

// The parts of one caseload question, with the values that its statement is bound to.
class CaseloadStatement {
 public:
  static Result<CaseloadStatement> make(const CaseloadQuery& query, const Page& page) {
    const Date today = LINTEL_TRY(parse_today(query.today));
    CaseloadStatement out;
    out.view_ = query.view;
    out.filter_ = filter_of(query.view, today);
    out.organization_ = query.organization;
    out.tag_ = query.tag;
    out.parts_ = search_parts(query.search);
    for (const std::string& part : out.parts_) out.patterns_.push_back(containing(part));
    if (!page.after.empty()) {
      const std::vector<std::string> cursor = LINTEL_TRY(read_cursor(page.after, 3));
      out.after_due_ = cursor[0];
      out.after_name_ = cursor[1];
      out.after_record_ = cursor[2];
    }
    return out;
  }

  // Looks for a condition that few athletes fulfil.
  Result<void> narrow(Transaction& t) {
    for (const Narrow& one : ways_to_narrow()) {
      const std::int64_t rows =
          LINTEL_TRY(run_sql(t, "reading the caseload", [&](soci::session& sql) {
            std::int64_t count = 0;
            soci::details::prepare_temp_type prepared(sql);
            prepared << "SELECT COUNT(*) FROM (" << one.text << " LIMIT " << kFew + 1 << ") few";
            prepared, soci::use(organization_, "organization");
            for (const auto& [name, value] : one.values) prepared, soci::use(value, name);
            prepared, soci::into(count);
            soci::statement(prepared).execute(true);
            return count;
          }));
      if (rows > kFew) continue;
      narrow_ = one;
      return {};
    }
    return {};
  }

  // First the ids of the page, from an index alone or from few athletes; then what is shown of
  // them. CROSS JOIN: SQLite keeps the order of the two.
  std::string text(int rows) const {
    const std::string order =
        by_due() ? "a.next_due, a.name_folded, a.record" : "a.name_folded, a.record";
    return "SELECT a.record, a.name, a.birth_date, a.sex, a.tags, a.version, a.last_visit,"
           " a.last_session, a.next_due, a.due_what, a.changed_at, a.last_trunk_deg,"
           " a.last_trunk_error_deg, a.name_folded FROM (SELECT a.record AS page_record FROM " +
           (narrow_.text.empty() ? std::string("athletes a WHERE ")
                                 : "(SELECT DISTINCT record FROM (" + narrow_.text +
                                       ") many) few CROSS JOIN athletes a WHERE a.record ="
                                       " few.record AND ") +
           where() + " ORDER BY " + order + " LIMIT " + std::to_string(rows) +
           ") page JOIN athletes a ON a.record = page.page_record ORDER BY " + order;
  }

  void bind(soci::details::prepare_temp_type& statement) {
    statement, soci::use(organization_, "organization");
    if (!filter_.day.empty()) statement, soci::use(filter_.day, "day");
    for (std::size_t i = 0; i < patterns_.size(); ++i) {
      statement, soci::use(patterns_[i], part_name(i));
    }
    if (!tag_.empty()) statement, soci::use(tag_, "tag");
    for (const auto& [name, value] : narrow_.values) {
      if (name != "day" && name != "tag") statement, soci::use(value, name);
    }
    if (after_record_.empty()) return;
    if (by_due()) statement, soci::use(after_due_, "after_due");
    statement, soci::use(after_name_, "after_name"), soci::use(after_record_, "after_record");
  }

 private:
  static constexpr std::int64_t kFew = 1'000;
  static std::string part_name(std::size_t i) { return "part" + std::to_string(i); }
  bool by_due() const { return view_ == CaseloadView::Due; }

  std::string where() const {
    std::string out = "a.organization = :organization AND " + filter_.condition;
    for (std::size_t i = 0; i < patterns_.size(); ++i) {
      out += " AND a.name_folded LIKE :" + part_name(i) + " ESCAPE '\\'";
    }
    if (!tag_.empty()) {
      out +=
          " AND a.record IN (SELECT g.athlete FROM athlete_tags g"
          " WHERE g.organization = :organization AND g.tag = :tag)";
    }
    if (after_record_.empty()) return out;
    return out + (by_due()
                      ? " AND (a.next_due, a.name_folded, a.record) > (:after_due, :after_name,"
                        " :after_record)"
                      : " AND (a.name_folded, a.record) > (:after_name, :after_record)");
  }

  std::vector<Narrow> ways_to_narrow() const {
    std::vector<Narrow> out;
    if (view_ == CaseloadView::Today) {
      out.push_back(
          {"SELECT r.athlete AS record FROM records r WHERE r.organization ="
           " :organization AND r.kind = 'visit' AND r.date = :day AND"
           " r.state = 'active'",
           {{"day", filter_.day}}});
    }
    for (const std::string& part : parts_) {
      out.push_back(
          {"SELECT w.athlete AS record FROM name_words n CROSS JOIN athlete_words w"
           " WHERE n.organization = :organization AND n.ending >= :from_ending"
           " AND n.ending < :to_ending AND w.organization = n.organization"
           " AND w.word = n.word",
           {{"from_ending", part}, {"to_ending", after_all(part)}}});
    }
    if (!tag_.empty()) {
      out.push_back(
          {"SELECT g.athlete AS record FROM athlete_tags g"
           " WHERE g.organization = :organization AND g.tag = :tag",
           {{"tag", tag_}}});
    }
    if (view_ == CaseloadView::New) {
      out.push_back(
          {"SELECT b.record FROM athletes b WHERE b.organization = :organization"
           " AND b.state = 'active' AND b.taken_in >= :day",
           {{"day", filter_.day}}});
    }
    if (view_ == CaseloadView::Stalled) {
      out.push_back(
          {"SELECT b.record FROM athletes b WHERE b.organization = :organization"
           " AND b.state = 'active' AND b.stalled_from <= :day",
           {{"day", filter_.day}}});
    }
    return out;
  }

  CaseloadView view_ = CaseloadView::All;
  ViewFilter filter_;
  Narrow narrow_;
  std::string organization_, tag_, after_due_, after_name_, after_record_;
  std::vector<std::string> parts_, patterns_;
};

}  // namespace

std::optional<CaseloadView> caseload_view_from(std::string_view name) {
  for (const auto& [view, one] : kViewNames) {
    if (one == name) return view;
  }
  return std::nullopt;
}

Result<CaseloadPage> list_caseload(Transaction& t, const CaseloadQuery& query, const Page& page) {
  LINTEL_TRY_VOID(check_limit(page.limit));
  CaseloadStatement question = LINTEL_TRY(CaseloadStatement::make(query, page));
  LINTEL_TRY_VOID(question.narrow(t));
  return run_sql(t, "reading the caseload", [&](soci::session& sql) {
    CaseloadPage out;
    CaseloadRow row;
    std::string tags, folded, last_folded;
    OptionalOut<double> trunk, error;
    soci::details::prepare_temp_type prepared(sql);
    prepared << question.text(page.limit + 1);
    question.bind(prepared);
    prepared, soci::into(row.athlete), soci::into(row.name), soci::into(row.birth_date),
        soci::into(row.sex), soci::into(tags), soci::into(row.version), soci::into(row.last_visit),
        soci::into(row.last_session), soci::into(row.next_due), soci::into(row.due_what),
        soci::into(row.changed_at), trunk.into(), error.into(), soci::into(folded);
    soci::statement statement(prepared);
    statement.execute();
    while (statement.fetch()) {
      if (out.rows.size() == static_cast<std::size_t>(page.limit)) {
        out.next = write_cursor({out.rows.back().next_due, last_folded, out.rows.back().athlete});
        break;
      }
      row.tags = split_tags(tags);
      row.last_trunk_deg = trunk.get();
      row.last_trunk_error_deg = error.get();
      out.rows.push_back(row);
      last_folded = folded;
    }
    return out;
  });
}

Result<std::vector<std::int64_t>> count_views(Transaction& t, std::string_view organization,
                                              std::string_view today) {
  const Date day = LINTEL_TRY(parse_today(today));
  const std::string of(organization);
  const CaseloadCounts counts = LINTEL_TRY(read_counts(t, of, day.iso(), (day - kDaysNew).iso()));
  const std::int64_t here_today =
      LINTEL_TRY(run_sql(t, "counting the caseload", [&](soci::session& sql) {
        const std::string date = day.iso();
        std::int64_t count = 0;
        sql << "SELECT COUNT(*) FROM (SELECT DISTINCT r.athlete FROM records r"
               " WHERE r.organization = :organization AND r.kind = 'visit' AND r.date = :day"
               " AND r.state = 'active') v CROSS JOIN athletes a"
               " WHERE a.record = v.athlete AND a.state = 'active'",
            soci::use(of, "organization"), soci::use(date, "day"), soci::into(count);
        return count;
      }));
  return std::vector<std::int64_t>{counts.active,  here_today,      counts.due,
                                   counts.stalled, counts.taken_in, counts.archived};
}

Result<std::vector<TimelineRow>> athlete_timeline(Transaction& t, std::string_view organization,
                                                  std::string_view athlete, int limit) {
  LINTEL_TRY_VOID(check_limit(limit));
  return run_sql(t, "reading the timeline", [&](soci::session& sql) {
    const std::string of(organization), whose(athlete);
    const std::int64_t most = limit;
    std::vector<TimelineRow> out;
    TimelineRow row;
    soci::statement rows =
        (sql.prepare << "SELECT id, kind, date, COALESCE(parent, ''), state, version, created_by,"
                        " changed_at FROM records WHERE athlete = :athlete"
                        " AND organization = :organization AND date > ''"
                        " ORDER BY date DESC, created_at DESC, id DESC LIMIT :most",
         soci::use(whose, "athlete"), soci::use(of, "organization"), soci::use(most, "most"),
         soci::into(row.record), soci::into(row.kind), soci::into(row.date), soci::into(row.parent),
         soci::into(row.state), soci::into(row.version), soci::into(row.created_by),
         soci::into(row.changed_at));
    rows.execute();
    while (rows.fetch()) out.push_back(row);
    return out;
  });
}

Result<std::vector<TrendRow>> athlete_trends(Transaction& t, std::string_view organization,
                                             std::string_view athlete) {
  return run_sql(t, "reading the trends", [&](soci::session& sql) {
    const std::string of(organization), whose(athlete);
    std::vector<TrendRow> out;
    TrendRow row;
    std::string made;
    soci::statement rows =
        (sql.prepare << "SELECT x.protocol AS name, x.side AS side, x.date AS date, x.unit,"
                        " x.record, x.value, x.standard_error, r.created_at AS made"
                        " FROM test_results x CROSS JOIN records r WHERE x.athlete = :athlete"
                        " AND r.id = x.record AND r.organization = :organization"
                        " AND r.state <> 'withdrawn' UNION ALL "
                        "SELECT m.measure AS name, '' AS side, m.date AS date, m.unit, m.record,"
                        " m.value, m.standard_error, r.created_at AS made"
                        " FROM trial_measures m CROSS JOIN records r WHERE m.athlete = :athlete"
                        " AND r.id = m.record AND r.organization = :organization"
                        " AND r.state <> 'withdrawn' ORDER BY name, side, date, made, record",
         soci::use(whose, "athlete"), soci::use(of, "organization"), soci::into(row.name),
         soci::into(row.side), soci::into(row.date), soci::into(row.unit), soci::into(row.record),
         soci::into(row.value), soci::into(row.standard_error));
    rows.execute();
    while (rows.fetch()) out.push_back(row);
    return out;
  });
}

}  // namespace lintel::store
