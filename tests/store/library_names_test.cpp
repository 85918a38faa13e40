// Names of a workplace's own protocols, drills and standard errors: each once, on both engines.
#include "store/library_names.h"

#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::StoreTest;

class LibraryNamesTest : public StoreTest {
 protected:
  static NewRecord own(const std::string& club, RecordKind kind, const std::string& name,
                       const std::string& document = "{}") {
    NewRecord record;
    record.kind = kind;
    record.organization = club;
    record.name = name;
    record.document = document;
    return record;
  }
  Result<Record> add(const NewRecord& record) {
    return write_value<Record>(database(), [&](Transaction& t) {
      return insert_record(t, record, {"runa", lintel::test::kNow});
    });
  }
  std::string state_of(const std::string& club) {
    return expect_value(read_value<std::string>(
        database(), [&](Transaction& t) { return library_state(t, club); }));
  }
  std::optional<Record> find(const std::string& club, RecordKind kind, const std::string& name) {
    return expect_value(read_value<std::optional<Record>>(
        database(), [&](Transaction& t) { return library_record(t, club, kind, name); }));
  }
};
LINTEL_BOTH_ENGINES(LibraryNamesTest);

TEST_P(LibraryNamesTest, EachIsThereOnceInAnOrganizationAndKind) {
  const std::string club = add_organization("Skarnholm"), other = add_organization("Hollerhavn");
  const Record made = expect_value(add(own(club, RecordKind::Protocol, "quay_ankle")));
  const auto again = add(own(club, RecordKind::Protocol, "quay_ankle"));
  ASSERT_FALSE(again);
  EXPECT_EQ(again.error().code, ErrorCode::Conflict);
  EXPECT_EQ(again.error().place.field, "id");
  EXPECT_TRUE(add(own(club, RecordKind::StandardError, "quay_ankle")));
  EXPECT_TRUE(add(own(other, RecordKind::Protocol, "quay_ankle")));
  EXPECT_TRUE(add(own(club, RecordKind::Protocol, "quay_anklE")));  // by its bytes
  // An archived one keeps its name.
  EXPECT_TRUE(write_value<Record>(database(), [&](Transaction& t) {
    return set_record_state(t, made.id, 1, RecordState::Archived, "", {"runa", test::kNow});
  }));
  EXPECT_FALSE(add(own(club, RecordKind::Protocol, "quay_ankle")));

  EXPECT_EQ(find(club, RecordKind::Protocol, "quay_ankle")->id, made.id);
  EXPECT_EQ(find(club, RecordKind::Protocol, "quay_ankle")->state, RecordState::Archived);
  EXPECT_NE(find(other, RecordKind::Protocol, "quay_ankle")->id, made.id);
  EXPECT_FALSE(find(club, RecordKind::Drill, "quay_ankle"));
  const auto all = expect_value(read_value<std::vector<NamedRecord>>(
      database(), [&](Transaction& t) { return library_records(t, club); }));
  ASSERT_EQ(all.size(), 3u);  // by kind and name, capitals first
  EXPECT_EQ(all[0].name, "quay_anklE");
  EXPECT_EQ(all[1].name, "quay_ankle");
  EXPECT_EQ(all[2].record.kind, RecordKind::StandardError);
  EXPECT_EQ(expect_value(read_value<std::int64_t>(
                database(),
                [&](Transaction& t) { return count_library(t, club, RecordKind::Protocol); })),
            2);
}

TEST_P(LibraryNamesTest, OfManyAtOnceOneTakesTheName) {
  const std::string club = add_organization("Skarnholm");
  std::atomic<int> made{0}, refused{0};
  std::vector<std::thread> threads;
  threads.reserve(8);
  for (int i = 0; i < 8; ++i) {
    threads.emplace_back([&] {
      const auto record = add(own(club, RecordKind::Drill, "quay-calf"));
      if (record) ++made;
      if (!record && record.error().code == ErrorCode::Conflict) ++refused;
    });
  }
  for (std::thread& thread : threads) thread.join();
  EXPECT_EQ(made, 1);
  EXPECT_EQ(refused, 7);
  EXPECT_TRUE(database().read([](Transaction& t) { return check_records(t); }));
}

TEST_P(LibraryNamesTest, TheStateIsAnotherOneWheneverSomethingIs) {
  const std::string club = add_organization("Skarnholm"), other = add_organization("Hollerhavn");
  EXPECT_EQ(state_of(club), "");
  const Record made = expect_value(add(own(club, RecordKind::Drill, "quay-calf")));
  std::vector<std::string> seen = {state_of(club)};
  const auto expect_another = [&] {
    const std::string now = state_of(club);
    for (const std::string& before : seen) EXPECT_NE(now, before);
    seen.push_back(now);
  };
  const Author runa{"runa", test::kNow};
  EXPECT_TRUE(write_value<Record>(database(), [&](Transaction& t) {
    return replace_record(t, made.id, 1, R"({"a":1})", {}, "", runa);
  }));
  expect_another();
  EXPECT_TRUE(write_value<Record>(database(), [&](Transaction& t) {
    return set_record_state(t, made.id, 2, RecordState::Archived, "", runa);
  }));
  expect_another();
  EXPECT_TRUE(add(own(club, RecordKind::Drill, "quay-calf-2")));
  expect_another();
  EXPECT_EQ(state_of(other), "");
  EXPECT_TRUE(add(own(other, RecordKind::Drill, "quay-calf-2")));
  EXPECT_EQ(state_of(club), seen.back());
}

TEST_P(LibraryNamesTest, RecordsThatNameOneAreFound) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const auto add_tests = [&](const std::string& document) {
    NewRecord record;
    record.kind = RecordKind::TestRecord;
    record.organization = club;
    record.athlete = ansa;
    record.document = document;
    return expect_value(add(record)).id;
  };
  const std::string named = add_tests(R"({"results":[{"protocol":"quay_ankle"}]})");
  add_tests(R"({"results":[{"protocol":"quay_ankle_2"}]})");
  add_tests(R"({"notes":"the quay_ankle was wet"})");
  const std::string before = add_tests(R"({"results":[{"protocol":"quay_ankle"}]})");
  EXPECT_TRUE(write_value<Record>(database(), [&](Transaction& t) {
    return replace_record(t, before, 1, "{}", {}, "", {"runa", test::kNow});
  }));
  const auto found = expect_value(read_value<std::vector<Record>>(database(), [&](Transaction& t) {
    return records_naming(t, club, RecordKind::TestRecord, "quay_ankle");
  }));
  ASSERT_EQ(found.size(), 1u);
  EXPECT_EQ(found[0].id, named);
}

TEST_P(LibraryNamesTest, AnOwnOneWithoutItsNameIsDamage) {
  const std::string club = add_organization("Skarnholm");
  EXPECT_TRUE(add(own(club, RecordKind::Protocol, "quay_ankle")));
  EXPECT_TRUE(database().read([](Transaction& t) { return check_records(t); }));
  ask_outside("DELETE FROM library_names");
  const auto checked = database().read([](Transaction& t) { return check_records(t); });
  ASSERT_FALSE(checked);
  EXPECT_EQ(checked.error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::store
