// The audit trail on both engines: what was tampered with from outside is found, and the engine
// itself refuses.
#include "store/audit.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <fstream>
#include <thread>

#include "secure/chain.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using test::expect_value;

class AuditTest : public test::StoreTest {
 protected:
  view::AuditRow add(const std::string& action, const std::string& record = "r-1",
                     const std::string& at = test::kNow) {
    view::AuditRow row;
    row.organization = "org";
    row.at = at;
    row.person = "p-1";
    row.session = "s-1";
    row.peer = "127.0.0.1";
    row.action = action;
    row.record = record;
    row.athlete = "a-1";
    row.detail = "version 2";
    return expect_value(write_value<view::AuditRow>(
        database(), [&](Transaction& t) { return append_audit(t, row); }));
  }
  std::vector<view::AuditRow> all() {
    return expect_value(read_value<std::vector<view::AuditRow>>(
        database(), [](Transaction& t) { return audit_rows_after(t, 0, 10'000); }));
  }
  // What the engine's own program says to a statement that it refuses.
  std::string refused_outside(const std::string& sql) const {
    const test::Ran ran =
        GetParam() == Engine::Sqlite
            ? test::run_program({"/usr/bin/sqlite3", "-batch", url().substr(7), sql})
            : test::run_program(
                  {"/usr/bin/psql", "-X", "-q", "-v", "ON_ERROR_STOP=1", "-d", url(), "-c", sql});
    EXPECT_NE(ran.status, 0) << sql;
    return ran.output;
  }
  AuditHead head() {
    return expect_value(
        read_value<AuditHead>(database(), [](Transaction& t) { return audit_head(t); }));
  }
};
LINTEL_BOTH_ENGINES(AuditTest);

TEST_P(AuditTest, BeginsWithAnEmptyTrail) {
  EXPECT_TRUE(all().empty());
  EXPECT_EQ(head().sequence, 0);
  EXPECT_EQ(head().hash, secure::chain_start());
}

TEST_P(AuditTest, ChainsEachRowToTheOneBefore) {
  add("sign_in");
  add("record_created");
  add("record_changed");
  const auto rows = all();
  ASSERT_EQ(rows.size(), 3u);
  std::string previous = secure::chain_start();
  for (std::size_t i = 0; i < rows.size(); ++i) {
    EXPECT_EQ(rows[i].sequence, static_cast<std::int64_t>(i) + 1);
    EXPECT_EQ(rows[i].previous_hash, previous);
    EXPECT_EQ(rows[i].hash, audit_hash(rows[i]));
    previous = rows[i].hash;
  }
  EXPECT_EQ(head().sequence, 3);
  EXPECT_EQ(head().hash, previous);
}

TEST_P(AuditTest, KeepsEveryLetter) {
  add("record_created", "Ålesund 'quoted' \"ß\" , 3:abc");
  EXPECT_EQ(all().at(0).record, "Ålesund 'quoted' \"ß\" , 3:abc");
  EXPECT_EQ(audit_hash(all().at(0)), all().at(0).hash);
}

TEST_P(AuditTest, TheEngineRefusesToChangeOrRemoveARow) {
  add("sign_in");
  add("sign_out");
  const auto before = all();
  for (const char* statement :
       {"UPDATE audit_trail SET person = 'p-2' WHERE sequence = 1", "DELETE FROM audit_trail",
        "DELETE FROM audit_trail WHERE sequence = 2"}) {
    const std::string answer = refused_outside(statement);
    EXPECT_NE(answer.find("append-only"), std::string::npos) << statement << ": " << answer;
  }
  const std::string more =
      GetParam() == Engine::Sqlite
          ? "INSERT OR REPLACE INTO audit_trail SELECT sequence, organization, at, 'p-2', session, "
            "peer, action, record, athlete, detail, previous_hash, hash FROM audit_trail"
          : "TRUNCATE audit_trail";
  EXPECT_NE(refused_outside(more).find("append-only"), std::string::npos);
  const auto after = all();
  ASSERT_EQ(after.size(), before.size());
  for (std::size_t i = 0; i < after.size(); ++i) EXPECT_EQ(after[i].hash, before[i].hash);
}

// The chain is read back by another program: sqlite3 or psql for the rows, hashlib for the hash.
TEST_P(AuditTest, IsVerifiedByAnotherProgram) {
  for (int i = 0; i < 20; ++i) add("record_changed", "r-" + std::to_string(i) + "-ø");
  const std::string rows = ask_outside(
      "SELECT sequence || '|' || organization || '|' || at || '|' || person || '|' || session || "
      "'|' || peer || '|' || action || '|' || record || '|' || athlete || '|' || detail || '|' || "
      "previous_hash || '|' || hash FROM audit_trail ORDER BY sequence");
  const std::filesystem::path input = folder() / "rows.txt", script = folder() / "check.py";
  std::ofstream(input) << rows;
  std::ofstream(script) << R"(import hashlib, sys
previous, count = "0" * 64, 0
for line in open(sys.argv[1], encoding="utf-8").read().strip().split("\n"):
    *fields, before, digest = line.split("|")
    assert before == previous, line
    text = b""
    for field in [previous, "lintel-audit-1", *fields]:
        part = field.encode()
        text += str(len(part)).encode() + b":" + part + b","
    assert hashlib.sha256(text).hexdigest() == digest, line
    previous, count = digest, count + 1
assert count == 20, count
)";
  EXPECT_EQ(std::system(("python3 " + script.string() + " " + input.string()).c_str()), 0) << rows;
}

TEST_P(AuditTest, ListsByPageTheNewestFirst) {
  for (int i = 0; i < 7; ++i) add("a" + std::to_string(i));
  std::vector<std::string> seen;
  std::string after;
  int pages = 0;
  do {
    const auto page = expect_value(read_value<view::AuditPage>(database(), [&](Transaction& t) {
      AuditFilter filter;
      filter.organization = "org";
      return list_audit(t, filter, {after, 3});
    }));
    for (const auto& row : page.rows) seen.push_back(row.action);
    after = page.next;
    ++pages;
    if (pages == 1) add("late");  // what is added meanwhile does not shift the pages
  } while (!after.empty());
  EXPECT_EQ(pages, 3);
  EXPECT_EQ(seen, (std::vector<std::string>{"a6", "a5", "a4", "a3", "a2", "a1", "a0"}));
}

TEST_P(AuditTest, ListsOnlyWhatTheFilterAsksFor) {
  add("one", "r-1");
  add("two", "r-2");
  const auto list = [&](AuditFilter filter) {
    return expect_value(read_value<view::AuditPage>(
                            database(), [&](Transaction& t) { return list_audit(t, filter, {}); }))
        .rows.size();
  };
  EXPECT_EQ(list({"org", "", "", "", ""}), 2u);
  EXPECT_EQ(list({"elsewhere", "", "", "", ""}), 0u);
  EXPECT_EQ(list({"org", "a-1", "", "", ""}), 2u);
  EXPECT_EQ(list({"org", "a-2", "", "", ""}), 0u);
  EXPECT_EQ(list({"org", "", "p-2", "", ""}), 0u);
  EXPECT_EQ(list({"org", "", "", "r-2", ""}), 1u);
  EXPECT_EQ(list({"org", "", "", "", "one"}), 1u);
}

TEST_P(AuditTest, RefusesACursorThatIsNoneAndAPageWithoutEnd) {
  const auto fault = [&](const std::string& after, int limit) {
    const auto page = read_value<view::AuditPage>(database(), [&](Transaction& t) {
      return list_audit(t, {"org", "", "", "", ""}, {after, limit});
    });
    return page ? std::string() : page.error().place.field;
  };
  EXPECT_EQ(fault("x", 10), "after");
  EXPECT_EQ(fault("-1", 10), "after");
  EXPECT_EQ(fault("1'", 10), "after");
  EXPECT_EQ(fault("", 0), "limit");
  EXPECT_EQ(fault("", 501), "limit");
  EXPECT_EQ(fault("5", 10), "");
}

TEST_P(AuditTest, KnowsWhatASessionSawLately) {
  add("getVisit", "v-1", "2026-03-09T07:00:00.000Z");
  const auto since = [&](const char* session, const char* action, const char* record,
                         const char* at) {
    return expect_value(read_value<bool>(
        database(), [&](Transaction& t) { return audited_since(t, session, action, record, at); }));
  };
  EXPECT_TRUE(since("s-1", "getVisit", "v-1", "2026-03-09T06:59:00.000Z"));
  EXPECT_TRUE(since("s-1", "getVisit", "v-1", "2026-03-09T07:00:00.000Z"));
  EXPECT_FALSE(since("s-1", "getVisit", "v-1", "2026-03-09T07:00:00.001Z"));
  EXPECT_FALSE(since("s-2", "getVisit", "v-1", "2026-03-09T06:59:00.000Z"));
  EXPECT_FALSE(since("s-1", "getPlan", "v-1", "2026-03-09T06:59:00.000Z"));
  EXPECT_FALSE(since("s-1", "getVisit", "v-2", "2026-03-09T06:59:00.000Z"));
}

// A row goes with the change it tells of, or not at all.
TEST_P(AuditTest, IsRolledBackWithItsTransaction) {
  add("one");
  const auto failed = database().write([&](Transaction& t) -> Result<void> {
    view::AuditRow row;
    row.action = "two";
    EXPECT_TRUE(append_audit(t, row));
    return fail(ErrorCode::Conflict, "no");
  });
  EXPECT_FALSE(failed);
  EXPECT_EQ(all().size(), 1u);
  add("three");
  EXPECT_EQ(all().at(1).sequence, 2);
}

// On SQLite, a process that opened and closed the file beside its connections would lose its locks,
// and the next program that looks in would take the write-ahead log from under it.
TEST_P(AuditTest, RowsStayThoughAnotherProgramLooksIn) {
  add("0");
  for (int i = 1; i < 6; ++i) {
    const auto second = expect_value(Database::open({url()}));
    add(std::to_string(i));
    const std::string count = ask_outside("SELECT COUNT(*) FROM audit_trail");
    EXPECT_EQ(count.substr(0, count.find_first_of("\r\n")), std::to_string(i + 1));
  }
  open_again();
  EXPECT_EQ(all().size(), 6u);
}

// Writers on several connections at once: no gap, no twin, one chain.
TEST_P(AuditTest, StaysOneChainUnderManyWriters) {
  constexpr int kWriters = 4, kRows = 15;
  std::vector<std::thread> writers;
  for (int w = 0; w < kWriters; ++w) {
    writers.emplace_back([&, w] {
      for (int i = 0; i < kRows; ++i) add("w" + std::to_string(w), std::to_string(i));
    });
  }
  for (std::thread& writer : writers) writer.join();
  const auto rows = all();
  ASSERT_EQ(rows.size(), static_cast<std::size_t>(kWriters * kRows));
  std::string previous = secure::chain_start();
  std::vector<int> next(kWriters, 0);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    EXPECT_EQ(rows[i].sequence, static_cast<std::int64_t>(i) + 1);
    EXPECT_EQ(rows[i].previous_hash, previous);
    previous = rows[i].hash;
    const auto writer = static_cast<std::size_t>(rows[i].action[1] - '0');
    EXPECT_EQ(rows[i].record, std::to_string(next[writer]++));  // each writer's own order is kept
  }
}

}  // namespace
}  // namespace lintel::store
