#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "base/random.h"
#include "store/records.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::StoreTest;

class RecordListsTest : public StoreTest {
 protected:
  Record add_visit(const std::string& club, const std::string& athlete, const std::string& date,
                   const std::string& at, const std::string& by = "runa") {
    return expect_value(write_value<Record>(database(), [&](Transaction& t) {
      NewRecord record;
      record.kind = RecordKind::Visit;
      record.organization = club;
      record.athlete = athlete;
      record.index.date = date;
      return insert_record(t, record, {by, at});
    }));
  }
  RecordPage page(const RecordQuery& query, const Page& wanted) {
    return expect_value(read_value<RecordPage>(
        database(), [&](Transaction& t) { return list_records(t, query, wanted); }));
  }
  std::vector<Record> all_pages(const RecordQuery& query, int limit) {
    std::vector<Record> out;
    Page wanted{"", limit};
    do {
      const RecordPage one = page(query, wanted);
      EXPECT_LE(one.records.size(), static_cast<std::size_t>(limit));
      out.insert(out.end(), one.records.begin(), one.records.end());
      wanted.after = one.next;
    } while (!wanted.after.empty());
    return out;
  }
};
LINTEL_BOTH_ENGINES(RecordListsTest);

std::string minute(int n) {
  const std::string text = std::to_string(100 + n).substr(1);
  return "2026-03-09T10:" + text + ":00.000Z";
}

TEST_P(RecordListsTest, PagesAreCompleteInOrderAndWithoutRepeats) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  Random random(20260309);
  struct Made {
    std::string date, at, id;
  };
  std::vector<Made> made;
  for (int i = 0; i < 47; ++i) {  // many on the same day and at the same time
    const std::string date = "2026-03-0" + std::to_string(1 + random.next() % 5);
    const std::string at = minute(static_cast<int>(random.next() % 7));
    made.push_back({date, at, add_visit(club, ansa, date, at).id});
  }
  std::sort(made.begin(), made.end(), [](const Made& a, const Made& b) {
    return std::tie(a.date, a.at, a.id) > std::tie(b.date, b.at, b.id);
  });
  RecordQuery query;
  query.organization = club;
  query.kind = RecordKind::Visit;
  for (const int limit : {1, 5, 46, 47, 48, 500}) {
    const std::vector<Record> got = all_pages(query, limit);
    ASSERT_EQ(got.size(), made.size()) << limit;
    for (std::size_t i = 0; i < made.size(); ++i) EXPECT_EQ(got[i].id, made[i].id);
  }
}

TEST_P(RecordListsTest, InsertsBetweenTwoPagesNeitherRepeatNorHide) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  std::set<std::string> before;
  for (int i = 0; i < 20; ++i) {
    before.insert(add_visit(club, ansa, "2026-03-09", minute(i)).id);
  }
  RecordQuery query;
  query.organization = club;
  query.kind = RecordKind::Visit;
  std::vector<std::string> seen;
  Page wanted{"", 3};
  int added = 0;
  do {
    const RecordPage one = page(query, wanted);
    for (const Record& record : one.records) seen.push_back(record.id);
    wanted.after = one.next;
    add_visit(club, ansa, "2026-03-09", minute(30 + added));  // above all
    add_visit(club, ansa, "2026-03-08", minute(added % 10));  // below
    ++added;
  } while (!wanted.after.empty() && added < 30);
  EXPECT_EQ(std::set<std::string>(seen.begin(), seen.end()).size(), seen.size());
  for (const std::string& id : before) {
    EXPECT_EQ(std::count(seen.begin(), seen.end(), id), 1);
  }
}

TEST_P(RecordListsTest, FiltersByEverythingTheQueryNames) {
  const std::string club = add_organization("Skarnholm");
  const std::string ansa = add_athlete(club, "Ansa Brinvik");
  const std::string jorunn = add_athlete(club, "Jorunn Havsten");
  const Record one = add_visit(club, ansa, "2026-03-01", minute(1));
  add_visit(club, jorunn, "2026-03-02", minute(2), "olve");
  const Record gone = add_visit(club, ansa, "2026-03-03", minute(3), "olve");
  expect_value(write_value<Record>(database(), [&](Transaction& t) {
    return set_record_state(t, gone.id, 1, RecordState::Withdrawn, "", {"runa", minute(9)});
  }));
  const auto count = [&](auto change) {
    RecordQuery query;
    query.organization = club;
    change(query);
    return page(query, {"", 500}).records.size();
  };
  EXPECT_EQ(count([](RecordQuery&) {}), 5u);  // club, two athletes, two visits
  EXPECT_EQ(count([](RecordQuery& q) { q.state = std::nullopt; }), 6u);
  EXPECT_EQ(count([](RecordQuery& q) { q.state = RecordState::Withdrawn; }), 1u);
  EXPECT_EQ(count([](RecordQuery& q) { q.kind = RecordKind::Visit; }), 2u);
  EXPECT_EQ(count([&](RecordQuery& q) { q.athlete = ansa; }), 2u);  // herself and a visit
  EXPECT_EQ(count([](RecordQuery& q) { q.created_by = "olve"; }), 1u);
  EXPECT_EQ(count([&](RecordQuery& q) { q.parent = one.id; }), 0u);
  EXPECT_EQ(count([](RecordQuery& q) { q.organization = "elsewhere"; }), 0u);
}

TEST_P(RecordListsTest, RefusesCursorsAndLimitsThatCannotBe) {
  const auto error = [&](const Page& wanted) {
    const Result<RecordPage> got = read_value<RecordPage>(
        database(), [&](Transaction& t) { return list_records(t, {}, wanted); });
    return got ? Error{} : got.error();
  };
  for (const char* cursor : {"x", "?!", "YWJj", "'; DROP TABLE records; --"}) {
    EXPECT_EQ(error({cursor, 5}).code, ErrorCode::Invalid) << cursor;
    EXPECT_EQ(error({cursor, 5}).place.field, "after");
  }
  for (const int limit : {0, -1, 501}) EXPECT_EQ(error({"", limit}).place.field, "limit");
}

}  // namespace
}  // namespace lintel::store
