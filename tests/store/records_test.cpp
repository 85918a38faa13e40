#include "store/records.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <atomic>
#include <set>
#include <thread>

#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::kNow;
using lintel::test::StoreTest;

using RecordsTest = StoreTest;
LINTEL_BOTH_ENGINES(RecordsTest);

const Author kRuna{"runa", "2026-03-09T08:00:00.000Z"};

NewRecord a_visit(const std::string& organization, const std::string& athlete,
                  const std::string& date) {
  NewRecord record;
  record.kind = RecordKind::Visit;
  record.organization = organization;
  record.athlete = athlete;
  record.parent = athlete;
  record.document = R"({"purpose":"first visit, größer, 中"})";
  record.index.date = date;
  return record;
}

template <typename F>
auto write(Database& database, F&& body) {
  using Answer = std::invoke_result_t<F&, Transaction&>;
  return write_value<typename Answer::value_type>(database, std::forward<F>(body));
}
template <typename F>
auto read(Database& database, F&& body) {
  using Answer = std::invoke_result_t<F&, Transaction&>;
  return read_value<typename Answer::value_type>(database, std::forward<F>(body));
}

TEST_P(RecordsTest, KeepsEveryVersionOfAChange) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const Record visit = expect_value(write(database(), [&](Transaction& t) {
    return insert_record(t, a_visit(club, ansa, "2026-03-09"), kRuna);
  }));
  EXPECT_EQ(visit.version, 1);
  IndexRows index;
  index.date = "2026-03-10";
  const Record changed = expect_value(write(database(), [&](Transaction& t) {
    return replace_record(t, visit.id, 1, R"({"purpose":"re-test"})", index, "wrong purpose",
                          {"olve", "2026-03-10T09:00:00.000Z"});
  }));
  EXPECT_EQ(changed.version, 2);
  open_again();

  const Record newest = expect_value(
      read(database(), [&](Transaction& t) { return find_record(t, club, visit.id); }));
  EXPECT_EQ(newest.document, R"({"purpose":"re-test"})");
  EXPECT_EQ(newest.created_by, "runa");
  EXPECT_EQ(newest.changed_by, "olve");
  EXPECT_EQ(newest.reason, "wrong purpose");
  const std::vector<Record> versions = expect_value(
      read(database(), [&](Transaction& t) { return record_versions(t, club, visit.id); }));
  ASSERT_EQ(versions.size(), 2u);
  EXPECT_EQ(versions[0].document, visit.document);
  EXPECT_EQ(versions[0].changed_by, "runa");
  EXPECT_EQ(versions[0].sha256, visit.sha256);
  EXPECT_EQ(versions[1].version, 2);
  // An independent reader counts the same.
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM record_versions WHERE record = '" + visit.id + "'"),
            "2\n");
}

TEST_P(RecordsTest, TellsWhoeverWasSlowerBothVersions) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const auto change = [&](std::int64_t expected) {
    return write(database(), [&](Transaction& t) {
      return replace_record(t, ansa, expected, "{}", {}, "", kRuna);
    });
  };
  EXPECT_EQ(expect_value(change(1)).version, 2);
  const Result<Record> late = change(1);
  ASSERT_FALSE(late);
  EXPECT_EQ(late.error().code, ErrorCode::Conflict);
  EXPECT_NE(late.error().message.find("version 2"), std::string::npos) << late.error();
  EXPECT_NE(late.error().message.find("version 1"), std::string::npos) << late.error();
  EXPECT_EQ(change(7).error().code, ErrorCode::Conflict);
  EXPECT_EQ(
      expect_value(read(database(), [&](Transaction& t) { return record_versions(t, club, ansa); }))
          .size(),
      2u);
}

TEST_P(RecordsTest, HidesRecordsFromAnotherOrganization) {
  const std::string club = add_organization("Skarnholm");
  const std::string other = add_organization("Tervik");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const auto find = [&](const std::string& organization) {
    return read(database(), [&](Transaction& t) { return find_record(t, organization, ansa); });
  };
  EXPECT_TRUE(find(club));
  EXPECT_EQ(find(other).error().code, ErrorCode::NotFound);
  EXPECT_EQ(read(database(), [&](Transaction& t) { return record_versions(t, other, ansa); })
                .error()
                .code,
            ErrorCode::NotFound);
  // Nor can anything be added below it from there.
  const Result<Record> below = write(database(), [&](Transaction& t) {
    return insert_record(t, a_visit(other, ansa, "2026-03-09"), kRuna);
  });
  EXPECT_EQ(below.error().code, ErrorCode::NotFound);
  EXPECT_EQ(below.error().place.field, "athlete");
}

TEST_P(RecordsTest, RefusesWhatDoesNotStandOnAnything) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  NewRecord visit = a_visit(club, ansa, "2026-03-09");
  visit.parent = "00000000-0000-4000-8000-000000000000";
  const auto insert = [&] {
    return write(database(), [&](Transaction& t) { return insert_record(t, visit, kRuna); });
  };
  EXPECT_EQ(insert().error().place.field, "parent");
  visit = a_visit(club, ansa, "9 March");
  EXPECT_EQ(insert().error().code, ErrorCode::Invalid);
  visit = a_visit(club, ansa, "2026-03-09");
  visit.id = ansa;
  EXPECT_EQ(insert().error().code, ErrorCode::Conflict);
  visit.id.clear();
  EXPECT_TRUE(insert());
}

TEST_P(RecordsTest, KeepsTheStateAsAVersionToo) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const Record archived = expect_value(write(database(), [&](Transaction& t) {
    return set_record_state(t, ansa, 1, RecordState::Archived, "moved away", kRuna);
  }));
  EXPECT_EQ(archived.version, 2);
  const std::vector<Record> versions = expect_value(
      read(database(), [&](Transaction& t) { return record_versions(t, club, ansa); }));
  EXPECT_EQ(versions[0].state, RecordState::Active);
  EXPECT_EQ(versions[1].state, RecordState::Archived);
  EXPECT_EQ(versions[1].document, versions[0].document);
}

TEST_P(RecordsTest, UndoesAllOfATransactionThatFails) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  std::string id;
  const Result<void> done = database().write([&](Transaction& t) -> Result<void> {
    id = LINTEL_TRY(insert_record(t, a_visit(club, ansa, "2026-03-09"), kRuna)).id;
    return fail(ErrorCode::Invalid, "thought better of it");
  });
  EXPECT_EQ(done.error().message, "thought better of it");
  EXPECT_EQ(read(database(), [&](Transaction& t) { return find_record(t, club, id); }).error().code,
            ErrorCode::NotFound);
  EXPECT_THROW((void)database().write([&](Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(insert_record(t, a_visit(club, ansa, "2026-03-09"), kRuna));
    throw std::runtime_error("a fault in the body");
  }),
               std::runtime_error);
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM records WHERE kind = 'visit'"), "0\n");
  EXPECT_TRUE(write(database(), [&](Transaction& t) {  // and the connection is as good as before
    return insert_record(t, a_visit(club, ansa, "2026-03-09"), kRuna);
  }));
}

TEST_P(RecordsTest, ReadsChangeNothing) {
  const std::string club = add_organization("Skarnholm");
  const Result<Record> written = read(database(), [&](Transaction& t) {
    NewRecord athlete;
    athlete.organization = club;
    athlete.index.athlete = AthleteRow{};
    return insert_record(t, athlete, kRuna);
  });
  ASSERT_FALSE(written);
  EXPECT_EQ(written.error().code, ErrorCode::Io);
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM athletes"), "0\n");
}

TEST_P(RecordsTest, ErrorsTellNoSqlAndNoPath) {
  const std::string club = add_organization("Skarnholm");
  const Result<void> broken = database().write([&](Transaction& t) {
    return refer_to_media(t, "no-such-record", std::string(64, 'a'), 1, "video/mp4");
  });
  ASSERT_FALSE(broken);
  EXPECT_EQ(broken.error().code, ErrorCode::Conflict);
  const std::string text = describe(broken.error());
  for (const char* never : {"INSERT", "media_references", "no-such-record", "/tmp"}) {
    EXPECT_EQ(text.find(never), std::string::npos) << text;
  }
}

TEST_P(RecordsTest, RefersToMediaAndKnowsWhoDoes) {
  const std::string club = add_organization("Skarnholm");
  const std::string other = add_organization("Tervik");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const std::string clip(64, 'c');
  ASSERT_TRUE(database().write([&](Transaction& t) -> Result<void> {
    LINTEL_TRY_VOID(refer_to_media(t, ansa, clip, 1234, "video/mp4"));
    return refer_to_media(t, ansa, clip, 1234, "video/mp4");  // twice is once
  }));
  const auto uses = [&](const std::string& organization) {
    return expect_value(
        read(database(), [&](Transaction& t) { return media_uses(t, organization, clip); }));
  };
  ASSERT_EQ(uses(club).size(), 1u);
  EXPECT_EQ(uses(club)[0].athlete, ansa);
  EXPECT_EQ(uses(club)[0].bytes, 1234);
  EXPECT_TRUE(uses(other).empty());
  EXPECT_EQ(expect_value(read(database(), [](Transaction& t) { return referenced_media(t); })),
            std::vector<std::string>{clip});
}

TEST_P(RecordsTest, ErasesEveryTraceOfOneAthleteAndNothingElse) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const std::string jorunn = add_athlete(club, "Jorunn Havsten");
  const std::string shared(64, 'a'), own(64, 'b');
  ASSERT_TRUE(database().write([&](Transaction& t) -> Result<void> {
    for (const std::string& athlete : {ansa, jorunn}) {
      NewRecord visit = a_visit(club, athlete, "2026-03-09");
      visit.index.due = {{"retest", "2026-04-09"}};
      const Record made = LINTEL_TRY(insert_record(t, visit, kRuna));
      NewRecord tests = a_visit(club, athlete, "2026-03-09");
      tests.kind = RecordKind::TestRecord;
      tests.parent = made.id;
      tests.index.tests = {{"knee_to_wall_distance", "left", "2026-03-09", "cm", 9.5, 0.7}};
      LINTEL_TRY_VOID(insert_record(t, tests, kRuna));
      LINTEL_TRY_VOID(refer_to_media(t, made.id, shared, 10, "image/png"));
    }
    return refer_to_media(t, ansa, own, 20, "video/mp4");
  }));
  const Erased erased =
      expect_value(write(database(), [&](Transaction& t) { return erase_athlete(t, club, ansa); }));
  EXPECT_EQ(erased.records, (std::vector<std::pair<std::string, std::int64_t>>{
                                {"athlete", 1}, {"tests", 1}, {"visit", 1}}));
  EXPECT_EQ(erased.orphaned_media, std::vector<std::string>{own});
  ASSERT_TRUE(database().forget_deleted());

  for (const char* table : {"records", "record_versions", "media_references", "athletes",
                            "test_results", "due_dates", "athlete_tags", "athlete_words"}) {
    const std::string column = std::string(table) == "records" ? "id" : "*";
    const std::string rows = ask_outside("SELECT " + column + " FROM " + table);
    EXPECT_EQ(rows.find(ansa), std::string::npos) << table;
  }
  EXPECT_EQ(ask_outside("SELECT COUNT(*) FROM records"), "4\n");  // club, Jorunn with two
  EXPECT_TRUE(database().check_integrity());
  EXPECT_EQ(
      write(database(), [&](Transaction& t) { return erase_athlete(t, club, ansa); }).error().code,
      ErrorCode::NotFound);
  if (server() == nullptr) {  // the bytes are gone from the file too
    close();
    for (const char* file : {"lintel.db", "lintel.db-wal"}) {
      const std::string bytes = lintel::test::file_bytes(folder() / file);
      EXPECT_EQ(bytes.find("Ansa Brinvik"), std::string::npos) << file;
    }
    EXPECT_NE(lintel::test::file_bytes(folder() / "lintel.db").find("Jorunn Havsten"),
              std::string::npos);
  }
}

TEST_P(RecordsTest, WritersOfManyThreadsLoseNothing) {
  constexpr int kThreads = 4, kWrites = 25;
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  std::atomic<int> conflicts = 0, failures = 0;
  std::vector<std::thread> threads;
  for (int i = 0; i < kThreads; ++i) {
    threads.emplace_back([&] {
      for (int done = 0; done < kWrites;) {
        const Result<Record> now =
            read(database(), [&](Transaction& t) { return find_record(t, club, ansa); });
        if (!now) {
          ++failures;
          return;
        }
        const Result<Record> next = write(database(), [&](Transaction& t) {
          return replace_record(t, ansa, now->version, "{}", {}, "", kRuna);
        });
        if (next) {
          ++done;
        } else if (next.error().code == ErrorCode::Conflict) {
          ++conflicts;  // somebody was faster: look again
        } else {
          ADD_FAILURE() << next.error();
          ++failures;
          return;
        }
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  ASSERT_EQ(failures, 0);
  const std::vector<Record> versions = expect_value(
      read(database(), [&](Transaction& t) { return record_versions(t, club, ansa); }));
  ASSERT_EQ(versions.size(), 1u + kThreads * kWrites);
  for (std::size_t i = 0; i < versions.size(); ++i) {
    EXPECT_EQ(versions[i].version, static_cast<std::int64_t>(i) + 1);
  }
  EXPECT_TRUE(database().check_integrity());
}

// The body reads a number and writes the next one: lost updates would show.
TEST_P(RecordsTest, WhatABodyReadsIsStillTrueWhenItCommits) {
  constexpr int kThreads = 4, kWrites = 15;
  const std::string club = add_organization("Skarnholm");
  std::vector<std::thread> threads;
  for (int i = 0; i < kThreads; ++i) {
    threads.emplace_back([&] {
      for (int n = 0; n < kWrites; ++n) {
        const Result<Record> made = write(database(), [&](Transaction& t) -> Result<Record> {
          RecordQuery all;
          all.organization = club;
          all.kind = RecordKind::Athlete;
          const RecordPage page = LINTEL_TRY(list_records(t, all, {"", 500}));
          NewRecord athlete;
          athlete.organization = club;
          athlete.document = std::to_string(page.records.size());
          athlete.index.athlete = AthleteRow{"Number", "", "", {}};
          return insert_record(t, athlete, kRuna);
        });
        EXPECT_TRUE(made) << made.error();
      }
    });
  }
  for (std::thread& thread : threads) thread.join();
  RecordQuery all;
  all.organization = club;
  all.kind = RecordKind::Athlete;
  const RecordPage page = expect_value(read(database(), [&](Transaction& t) {
    return list_records(t, all, {"", 500});
  }));
  std::set<std::string> numbers;
  for (const Record& record : page.records) numbers.insert(record.document);
  EXPECT_EQ(numbers.size(), static_cast<std::size_t>(kThreads * kWrites));  // each number once
}

TEST_P(RecordsTest, OneDigestForTheSameRecordsOnBothEngines) {
  const auto fill = [](Database& into) {
    return into.write([](Transaction& t) -> Result<void> {
      NewRecord club;
      club.kind = RecordKind::Organization;
      club.id = "0d8ac1c6-6d3f-4a6c-9a8e-0f4b8a0a1c11";
      club.document = R"({"name":"Skarnholm"})";
      LINTEL_TRY_VOID(insert_record(t, club, {"", kNow}));
      NewRecord ansa;
      ansa.id = "c0ffee00-6d3f-4a6c-9a8e-0f4b8a0a1c11";
      ansa.organization = club.id;
      ansa.document = R"({"name":"Ansa Brïnvik"})";
      LINTEL_TRY_VOID(insert_record(t, ansa, kRuna));
      LINTEL_TRY_VOID(replace_record(t, ansa.id, 1, "{}", {}, "why", kRuna));
      return refer_to_media(t, ansa.id, std::string(64, 'f'), 7, "image/png");
    });
  };
  const auto digest = [](Database& of) {
    return expect_value(read(of, [](Transaction& t) { return digest_of_everything(t); }));
  };
  const std::string empty = digest(database());
  ASSERT_TRUE(fill(database()));
  const std::string filled = digest(database());
  EXPECT_NE(filled, empty);
  const std::unique_ptr<Database> beside =
      expect_value(Database::open({"sqlite:" + (folder() / "beside.db").string()}));
  ASSERT_TRUE(fill(*beside));
  EXPECT_EQ(digest(*beside), filled);
  ask_outside("UPDATE record_versions SET reason = 'because' WHERE reason = 'why'");
  EXPECT_NE(digest(database()), filled);
}

TEST_P(RecordsTest, FindsADocumentThatWasChangedFromOutside) {
  const std::string club = add_organization("Skarnholm");
  add_athlete(club, "Ansa Brinvik");
  const auto check = [&] {
    return database().read([](Transaction& t) { return check_records(t); });
  };
  EXPECT_TRUE(check());
  ask_outside("UPDATE record_versions SET document = '{\"name\":\"Somebody\"}' WHERE record = '" +
              club + "'");
  const Result<void> found = check();
  ASSERT_FALSE(found);
  EXPECT_EQ(found.error().code, ErrorCode::Invalid);
  EXPECT_NE(found.error().message.find(club), std::string::npos);
  ask_outside("DELETE FROM record_versions WHERE record = '" + club + "'");
  EXPECT_FALSE(check());
}

}  // namespace
}  // namespace lintel::store
