// What the screens ask of a large caseload, on SQLite and PostgreSQL: fills a database with
// invented athletes and prints the median time of each question. Bound of the three that a person
// waits for: 20 ms.
//   store_bench [ATHLETES [sqlite|postgresql|both [FOLDER]]]   FOLDER: kept, and used again
#include <algorithm>
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <functional>
#include <string>
#include <vector>

#include "base/date.h"
#include "base/random.h"
#include "store/caseload_queries.h"
#include "store/database.h"
#include "store/records.h"
#include "support/postgres_server.h"
#include "support/temporary_folder.h"

namespace lintel::store {
namespace {

constexpr const char* kToday = "2026-03-09";
constexpr double kBound_ms = 20.0;
constexpr int kAsked = 101;  // times each question
constexpr int kAthletesAtOnce = 500;

double ms_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - start)
      .count();
}

// Of this thread: the work of SQLite, which does not wait for other programs on a busy machine.
double cpu_ms() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) * 1e3 + static_cast<double>(now.tv_nsec) * 1e-6;
}

double median_of(std::vector<double>& values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

void stop_on(const Result<void>& result) {
  if (result) return;
  std::fprintf(stderr, "%s\n", describe(result.error()).c_str());
  std::exit(1);
}

constexpr std::array kGiven{"Ansa",  "Runa",  "Jorunn", "Olve",  "Åse",  "Tarn", "Ylva", "Birk",
                            "Sindr", "Vesla", "Halla",  "Eskil", "Mira", "Torv", "Siv",  "Ødger"};
constexpr std::array kFirst{"Brin", "Feld", "Hav", "Skar", "Ter", "Lund", "Ost", "Grims",
                            "Kalv", "Rav",  "Sol", "Tind", "Ulv", "Vind", "Ask", "Bjerk"};
constexpr std::array kLast{"vik",  "holm",   "sten",  "dal", "berg", "nes",  "mo",   "fjell",
                           "lien", "strand", "hagen", "rud", "land", "åsen", "sund", "haug"};
constexpr std::array kProtocols{"knee_to_wall_distance", "hip_flexion", "hip_internal_rotation",
                                "shoulder_flexion", "thoracic_rotation"};

constexpr int kOneInSoMany = 1000;  // has come for years, and has an id that is known
std::string rich_id(int number) {
  return "22222222-2222-4222-8222-" + std::to_string(100'000'000'000 + number);
}

std::string invented_name(Random& random) {
  const auto pick = [&](const auto& list) { return list[random.next() % list.size()]; };
  // 16 given names, 65,536 family names.
  return std::string(pick(kGiven)) + " " + pick(kFirst) + pick(kLast) + pick(kFirst) + pick(kLast);
}

class Filler {
 public:
  Filler(Database& database, int athletes) : database_(database), athletes_(athletes) {}

  void fill() {
    stop_on(database_.write([&](Transaction& t) -> Result<void> {
      NewRecord club;
      club.id = club_;
      club.kind = RecordKind::Organization;
      LINTEL_TRY(insert_record(t, club, {"", stamp(400)}));
      return {};
    }));
    for (int done = 0; done < athletes_; done += kAthletesAtOnce) {
      stop_on(database_.write([&](Transaction& t) -> Result<void> {
        Random random(1, static_cast<std::uint64_t>(done));
        for (int i = done; i < std::min(athletes_, done + kAthletesAtOnce); ++i) {
          LINTEL_TRY_VOID(add_athlete(t, i, random));
        }
        return {};
      }));
    }
  }
  // The ids of a database that was filled before, in the order of making.
  void find_ids() {
    stop_on(database_.read([&](Transaction& t) -> Result<void> {
      RecordQuery query;
      query.organization = club_;
      query.kind = RecordKind::Athlete;
      query.state = std::nullopt;
      Page page{"", 500};
      do {
        const RecordPage one = LINTEL_TRY(list_records(t, query, page));
        for (const Record& record : one.records) ids_.push_back(record.id);
        page.after = one.next;
      } while (!page.after.empty());
      return {};
    }));
  }
  const std::string& club() const { return club_; }
  const std::vector<std::string>& ids() const { return ids_; }

 private:
  std::string day(int ago) const { return (*Date::parse(kToday) - ago).iso(); }
  std::string stamp(int ago) const { return day(ago) + "T10:00:00.000Z"; }

  Result<void> add_athlete(Transaction& t, int number, Random& random) {
    NewRecord record;
    record.organization = club_;
    if (number % kOneInSoMany == 0) record.id = rich_id(number);
    record.document = R"({"schema":"lintel-intake-1","note":"invented"})";
    record.index.athlete = AthleteRow{invented_name(random),
                                      day(6000 + static_cast<int>(random.next() % 15000)),
                                      number % 2 == 0 ? "female" : "male",
                                      {}};
    if (number % 50 == 0) record.index.athlete->tags = {"masters"};
    const int since = static_cast<int>(random.next() % 400);
    const std::string id = LINTEL_TRY(insert_record(t, record, {"runa", stamp(since)})).id;
    ids_.push_back(id);
    // Most have come once or twice; one in a thousand for years.
    const int visits = number % kOneInSoMany == 0 ? 100 : 1;
    for (int n = 0; n < visits; ++n) {
      LINTEL_TRY_VOID(add_visit(t, id, static_cast<int>(random.next() % 400), n == 0, random));
    }
    if (number % 4 == 0) LINTEL_TRY_VOID(add_plan(t, id, random));
    return number % 50 == 1 ? archive(t, id) : Result<void>{};
  }

  Result<void> add_visit(Transaction& t, const std::string& athlete, int ago, bool tested,
                         Random& random) {
    NewRecord visit;
    visit.kind = RecordKind::Visit;
    visit.organization = club_;
    visit.athlete = visit.parent = athlete;
    visit.document = R"({"purpose":"first"})";
    visit.index.date = day(ago);
    visit.index.measures = {{"trunk_inclination", day(ago), "deg", random.normal(40, 6), 1.4}};
    const std::string id = LINTEL_TRY(insert_record(t, visit, {"runa", stamp(ago)})).id;
    if (!tested) return {};
    NewRecord tests = visit;
    tests.kind = RecordKind::TestRecord;
    tests.parent = id;
    tests.index = {};
    tests.index.date = day(ago);
    for (const char* protocol : kProtocols) {
      for (const char* side : {"left", "right"}) {
        tests.index.tests.push_back({protocol, side, day(ago), "deg", random.normal(40, 8), 2.5});
      }
    }
    LINTEL_TRY_VOID(insert_record(t, tests, {"runa", stamp(ago)}));
    return {};
  }

  Result<void> add_plan(Transaction& t, const std::string& athlete, Random& random) {
    const int ago = static_cast<int>(random.next() % 60);
    NewRecord plan;
    plan.kind = RecordKind::Plan;
    plan.organization = club_;
    plan.athlete = plan.parent = athlete;
    plan.document = "{}";
    plan.index.date = day(ago);
    plan.index.due = {{"retest", day(ago - 42)}};
    LINTEL_TRY_VOID(insert_record(t, plan, {"runa", stamp(ago)}));
    NewRecord log = plan;
    log.kind = RecordKind::SessionLog;
    log.index = {};
    log.index.date = day(ago / 2);
    log.index.drills = {{"calf_stretch", log.index.date, 3, 6.0, std::nullopt}};
    LINTEL_TRY_VOID(insert_record(t, log, {athlete, stamp(ago / 2)}));
    return {};
  }

  Result<void> archive(Transaction& t, const std::string& athlete) {
    LINTEL_TRY_VOID(set_record_state(t, athlete, 1, RecordState::Archived, "", {"runa", stamp(0)}));
    return {};
  }

  Database& database_;
  int athletes_;
  std::string club_ = "11111111-1111-4111-8111-111111111111";
  std::vector<std::string> ids_;
};

// Asks many times and prints the median; every answer must have rows where it is said to.
class Questions {
 public:
  explicit Questions(Database& database) : database_(database) {}

  using Ask = std::function<Result<std::size_t>(Transaction&, int)>;  // how many rows
  void time(const char* name, bool bound, std::size_t least_rows, const Ask& ask,
            int times = kAsked) {
    std::vector<double> taken, worked;
    std::size_t rows = 0;
    for (int i = 0; i < times; ++i) {
      const auto start = std::chrono::steady_clock::now();
      const double cpu_start = cpu_ms();
      stop_on(database_.read([&](Transaction& t) -> Result<void> {
        rows = LINTEL_TRY(ask(t, i));
        return {};
      }));
      taken.push_back(ms_since(start));
      worked.push_back(cpu_ms() - cpu_start);
      if (rows < least_rows) {
        std::fprintf(stderr, "%s: %zu rows, at least %zu expected\n", name, rows, least_rows);
        std::exit(1);
      }
    }
    const double median = median_of(taken);
    const char* verdict = !bound ? "" : median <= kBound_ms ? "  holds" : "  TOO SLOW";
    std::printf("  %-42s %8.2f ms (95 %%: %8.2f ms; own work %7.2f ms)%s\n", name, median,
                taken[taken.size() * 95 / 100], median_of(worked), verdict);
    std::fflush(stdout);
  }

 private:
  Database& database_;
};

void ask_caseload(Questions& questions, const std::string& club) {
  for (const char* view : {"all", "today", "due", "stalled", "new", "archived"}) {
    std::string second_page;
    questions.time((std::string("caseload, ") + view + ", with all counts").c_str(), true, 1,
                   [&](Transaction& t, int) -> Result<std::size_t> {
                     const CaseloadQuery query{club, *caseload_view_from(view), kToday, "", ""};
                     const CaseloadPage page = LINTEL_TRY(list_caseload(t, query, {"", 50}));
                     second_page = page.next;
                     LINTEL_TRY_VOID(count_views(t, club, kToday));
                     return page.rows.size();
                   });
    if (second_page.empty()) continue;
    questions.time((std::string("caseload, ") + view + ", second page").c_str(), true, 1,
                   [&](Transaction& t, int) -> Result<std::size_t> {
                     const CaseloadQuery query{club, *caseload_view_from(view), kToday, "", ""};
                     return LINTEL_TRY(list_caseload(t, query, {second_page, 50})).rows.size();
                   });
  }
}

void ask_search(Questions& questions, const std::string& club) {
  const std::array<std::pair<const char*, std::size_t>, 6> kSearches{{{"brinvik", 50},
                                                                      {"osthaug ylva", 1},
                                                                      {"vindmo askmo siv", 0},
                                                                      {"ødg", 50},
                                                                      {"nobody", 0},
                                                                      {"a", 50}}};
  for (const auto& [words, least] : kSearches) {
    questions.time((std::string("search, \"") + words + "\"").c_str(), true, least,
                   [&, text = words](Transaction& t, int) -> Result<std::size_t> {
                     const CaseloadQuery query{club, CaseloadView::All, kToday, text, ""};
                     return LINTEL_TRY(list_caseload(t, query, {"", 50})).rows.size();
                   });
  }
  questions.time("search, a tag", true, 50, [&](Transaction& t, int) -> Result<std::size_t> {
    const CaseloadQuery query{club, CaseloadView::All, kToday, "", "masters"};
    return LINTEL_TRY(list_caseload(t, query, {"", 50})).rows.size();
  });
}

void ask_athletes(Questions& questions, const Filler& filler) {
  const std::vector<std::string>& ids = filler.ids();
  const auto some = [&](int i) -> const std::string& {
    return ids[static_cast<std::size_t>(i) * 7919 % ids.size()];
  };
  const auto rich = [&](int i) { return rich_id(i * kOneInSoMany % static_cast<int>(ids.size())); };
  questions.time("timeline, any athlete", true, 2,
                 [&](Transaction& t, int i) -> Result<std::size_t> {
                   return LINTEL_TRY(athlete_timeline(t, filler.club(), some(i), 100)).size();
                 });
  questions.time("timeline, 100 visits", true, 100,
                 [&](Transaction& t, int i) -> Result<std::size_t> {
                   return LINTEL_TRY(athlete_timeline(t, filler.club(), rich(i), 500)).size();
                 });
  questions.time("trends, any athlete", true, 11,
                 [&](Transaction& t, int i) -> Result<std::size_t> {
                   return LINTEL_TRY(athlete_trends(t, filler.club(), some(i))).size();
                 });
}

void ask_cohort(Questions& questions, const std::string& club) {
  questions.time(
      "cohort, range of one test", false, 8,
      [&](Transaction& t, int) -> Result<std::size_t> {
        return LINTEL_TRY(cohort_range(t, club, kProtocols[0], kToday)).size();
      },
      5);
  questions.time(
      "cohort, change a week by drill", false, 0,
      [&](Transaction& t, int) -> Result<std::size_t> {
        return LINTEL_TRY(cohort_change_by_drill(t, club, kProtocols[0])).size();
      },
      5);
}

void ask_all(const char* engine, Database& database, const Filler& filler) {
  std::printf("%s\n", engine);
  Questions questions(database);
  ask_caseload(questions, filler.club());
  ask_search(questions, filler.club());
  ask_athletes(questions, filler);
  ask_cohort(questions, filler.club());
}

std::unique_ptr<Database> open(const std::string& url) {
  Result<std::unique_ptr<Database>> opened = Database::open({url});
  if (!opened) stop_on(fail(opened.error()));
  return std::move(opened).value();
}

// The same rows, table by table, by the engines' own programs: minutes instead of an hour.
void copy_rows(const std::filesystem::path& file, const lintel::test::PostgresServer& server,
               const std::string& url) {
  for (const char* table : {"records", "record_versions", "media_references", "athletes",
                            "athlete_tags", "athlete_counts", "name_words", "athlete_words",
                            "test_results", "drill_sessions", "trial_measures", "due_dates"}) {
    const std::string rows = file.string() + "." + table;
    const lintel::test::Ran ran =
        lintel::test::run_program({"/usr/bin/sqlite3", file.string(), ".mode csv", ".once " + rows,
                                   std::string("SELECT * FROM ") + table});
    if (ran.status != 0) std::fprintf(stderr, "%s\n", ran.output.c_str());
    server.psql(url, std::string("\\copy ") + table + " FROM '" + rows + "' CSV");
    std::filesystem::remove(rows);
  }
}

void bench_both(int athletes, bool sqlite, bool postgresql, const std::filesystem::path& folder) {
  const std::filesystem::path file = folder / "lintel.db";
  const bool filled = std::filesystem::exists(file);
  std::unique_ptr<Database> database = open("sqlite:" + file.string());
  Filler filler(*database, athletes);
  const auto start = std::chrono::steady_clock::now();
  if (filled) {
    filler.find_ids();
  } else {
    filler.fill();
    stop_on(database->forget_deleted());
    std::printf("filled in %.0f s\n", ms_since(start) / 1000.0);
  }
  std::printf("%zu athletes, %zu test results\n", filler.ids().size(),
              filler.ids().size() * 2 * kProtocols.size());
  std::fflush(stdout);
  if (sqlite) ask_all("SQLite", *database, filler);
  if (!postgresql) return;
  std::string why_not;
  lintel::test::PostgresServer* server = lintel::test::PostgresServer::shared(why_not);
  if (server == nullptr) {
    std::fprintf(stderr, "PostgreSQL is not measured: %s\n", why_not.c_str());
    return;
  }
  const std::string url = server->new_database();
  database = open(url);
  copy_rows(file, *server, url);
  stop_on(database->forget_deleted());  // VACUUM and ANALYZE would have run by themselves by now
  ask_all("PostgreSQL", *database, filler);
}

}  // namespace
}  // namespace lintel::store

int main(int argc, char** argv) {
  const int athletes = argc > 1 ? std::atoi(argv[1]) : 100'000;
  const std::string which = argc > 2 ? argv[2] : "both";
  const lintel::test::TemporaryFolder own;
  lintel::store::bench_both(athletes, which != "postgresql", which != "sqlite",
                            argc > 3 ? std::filesystem::path(argv[3]) : own.path());
  return 0;
}
