#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>

#include "base/date.h"
#include "base/random.h"
#include "store/athlete_summary.h"
#include "store/caseload_queries.h"
#include "store/name_fold.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::kToday;
using lintel::test::StoreTest;

class CaseloadTest : public StoreTest {
 protected:
  void SetUp() override {
    StoreTest::SetUp();
    if (!IsSkipped()) club_ = add_organization("Skarnholm");
  }
  Record add(RecordKind kind, const std::string& athlete, const std::string& date,
             const IndexRows& index = {}, const std::string& created = lintel::test::kNow) {
    NewRecord record;
    record.kind = kind;
    record.organization = club_;
    record.athlete = athlete;
    record.index = index;
    record.index.date = date;
    return expect_value(in_transaction([&](Transaction& t) {
      return insert_record(t, record, {"runa", created});
    }));
  }
  std::string add_person(const std::string& name, const std::string& taken_in,
                         const std::vector<std::string>& tags = {}) {
    IndexRows index;
    index.athlete = AthleteRow{name, "1994-05-17", "female", tags};
    return add(RecordKind::Athlete, "", "", index, taken_in + "T10:00:00.000Z").id;
  }
  void set_state(const std::string& id, RecordState state) {
    expect_value(in_transaction([&](Transaction& t) -> Result<Record> {
      const Record now = LINTEL_TRY(find_record(t, club_, id));
      return set_record_state(t, id, now.version, state, "", {"runa", lintel::test::kNow});
    }));
  }
  std::vector<CaseloadRow> rows(CaseloadQuery query, int limit = 500) {
    query.organization = club_;
    if (query.today.empty()) query.today = kToday;
    std::vector<CaseloadRow> out;
    Page page{"", limit};
    do {
      const CaseloadPage one = expect_value(read_value<CaseloadPage>(
          database(), [&](Transaction& t) { return list_caseload(t, query, page); }));
      out.insert(out.end(), one.rows.begin(), one.rows.end());
      page.after = one.next;
    } while (!page.after.empty());
    return out;
  }
  std::vector<std::string> names(CaseloadView view, const std::string& search = {},
                                 const std::string& tag = {}) {
    std::vector<std::string> out;
    for (const CaseloadRow& row : rows({"", view, "", search, tag})) out.push_back(row.name);
    return out;
  }
  std::string club_;
};
LINTEL_BOTH_ENGINES(CaseloadTest);

using Names = std::vector<std::string>;

TEST_P(CaseloadTest, IsByNameWithAccentsAndCaseAside) {
  for (const char* name : {"Ünne Sund", "Ansa Brinvik", "åke Hamn", "Zia Orr", "Öland Bo"}) {
    add_person(name, "2026-03-01");
  }
  EXPECT_EQ(names(CaseloadView::All),
            (Names{"åke Hamn", "Ansa Brinvik", "Öland Bo", "Ünne Sund", "Zia Orr"}));
}

TEST_P(CaseloadTest, FindsPartsOfANameInAnyOrder) {
  add_person("Ansa Brinvik", "2026-03-01");
  add_person("Runa Feldvik", "2026-03-01");
  add_person("Per 100% Sund_by", "2026-03-01");
  EXPECT_EQ(names(CaseloadView::All, "BRIN ans"), Names{"Ansa Brinvik"});
  EXPECT_EQ(names(CaseloadView::All, "vik"), (Names{"Ansa Brinvik", "Runa Feldvik"}));
  EXPECT_EQ(names(CaseloadView::All, "brïnvík"), Names{"Ansa Brinvik"});
  EXPECT_EQ(names(CaseloadView::All, "sund by"), Names{"Per 100% Sund_by"});
  EXPECT_EQ(names(CaseloadView::All, "%"), names(CaseloadView::All));  // no word: no search
  EXPECT_TRUE(names(CaseloadView::All, "100 vik").empty());
  EXPECT_TRUE(names(CaseloadView::All, "x' OR '1'='1").empty());
}

TEST_P(CaseloadTest, FindsTags) {
  add_person("Ansa Brinvik", "2026-03-01", {"masters", "shoulder"});
  add_person("Jorunn Havsten", "2026-03-01", {"masters"});
  EXPECT_EQ(names(CaseloadView::All, "", "masters"), (Names{"Ansa Brinvik", "Jorunn Havsten"}));
  EXPECT_EQ(names(CaseloadView::All, "jor", "masters"), Names{"Jorunn Havsten"});
  EXPECT_TRUE(names(CaseloadView::All, "", "master").empty());
  EXPECT_EQ(rows({"", CaseloadView::All, "", "ansa", ""})[0].tags, (Names{"masters", "shoulder"}));
}

TEST_P(CaseloadTest, AnEditMovesTheRowAndItsTags) {
  const std::string ansa = add_person("Ansa Brinvik", "2026-03-01", {"masters"});
  IndexRows index;
  index.athlete = AthleteRow{"Ansa Havsten", "1994-05-18", "female", {"junior"}};
  expect_value(write_value<Record>(database(), [&](Transaction& t) {
    return replace_record(t, ansa, 1, "{}", index, "married", {"runa", lintel::test::kNow});
  }));
  EXPECT_TRUE(names(CaseloadView::All, "brinvik").empty());
  EXPECT_TRUE(names(CaseloadView::All, "", "masters").empty());
  const CaseloadRow row = rows({"", CaseloadView::All, "", "havsten", "junior"}).at(0);
  EXPECT_EQ(row.version, 2);
  EXPECT_EQ(row.birth_date, "1994-05-18");
}

TEST_P(CaseloadTest, ShowsTheNewestOfWhatWasMeasured) {
  const std::string ansa = add_person("Ansa Brinvik", "2026-01-05");
  const auto row = [&] { return rows({"", CaseloadView::All, "", "", ""}).at(0); };
  EXPECT_FALSE(row().last_trunk_deg);
  const auto trial = [&](const std::string& date, double trunk) {
    IndexRows index;
    index.measures = {{"trunk_inclination", date, "deg", trunk, 1.25},
                      {"knee_flexion", date, "deg", 121.0, 2.0}};
    return add(RecordKind::Trial, ansa, date, index);
  };
  trial("2026-02-02", 41.5);
  const Record last = trial("2026-03-02", 37.25);
  trial("2026-02-20", 39.0);
  EXPECT_EQ(row().last_trunk_deg, 37.25);
  EXPECT_EQ(row().last_trunk_error_deg, 1.25);
  set_state(last.id, RecordState::Withdrawn);  // the wrong clip
  EXPECT_EQ(row().last_trunk_deg, 39.0);
}

TEST_P(CaseloadTest, TheNewestPlanSaysWhatIsDueAndAVisitSettlesIt) {
  const std::string ansa = add_person("Ansa Brinvik", "2026-01-05");
  const auto due = [&] {
    const CaseloadRow row = rows({"", CaseloadView::All, "", "", ""}).at(0);
    return row.next_due + " " + row.due_what;
  };
  IndexRows plan;
  plan.due = {{"retest", "2026-02-16"}, {"retest", "2026-03-02"}, {"visit", "2026-03-02"}};
  const Record first = add(RecordKind::Plan, ansa, "2026-02-02", plan);
  EXPECT_EQ(due(), "2026-02-16 retest");
  const Record visit = add(RecordKind::Visit, ansa, "2026-02-16");
  EXPECT_EQ(due(), "2026-03-02 retest");
  set_state(visit.id, RecordState::Withdrawn);  // was somebody else
  EXPECT_EQ(due(), "2026-02-16 retest");
  plan.due = {{"retest", "2026-04-01"}};
  add(RecordKind::Plan, ansa, "2026-02-20", plan);
  EXPECT_EQ(due(), "2026-04-01 retest");
  add(RecordKind::Visit, ansa, "2026-04-05");
  EXPECT_EQ(due(), " ");
}

// Everything by a second way: from the list of what was put in, by the words of the header.
TEST_P(CaseloadTest, ViewsAndCountsAgreeWithASecondCount) {
  struct Known {
    std::string name, folded, id, taken_in, last_visit, last_session, plan_since, due;
    bool archived = false, today = false;
  };
  const Date today = *Date::parse(kToday);
  Random random(5);
  const auto day = [&](int most) {
    return (today - static_cast<int>(random.next() % static_cast<std::uint64_t>(most))).iso();
  };
  std::vector<Known> all;
  in_one_transaction([&] {
    for (int i = 0; i < 60; ++i) {
      Known one;
      one.name =
          std::string("Person ") + static_cast<char>('A' + random.next() % 26) + std::to_string(i);
      one.folded = fold_name(one.name);
      one.taken_in = day(90);
      one.id = add_person(one.name, one.taken_in);
      for (int n = static_cast<int>(random.next() % 3); n > 0; --n) {
        const std::string date = day(60);
        add(RecordKind::Visit, one.id, date);
        one.last_visit = std::max(one.last_visit, date);
        one.today = one.today || date == kToday;
      }
      if (random.uniform() < 0.5) {
        one.plan_since = day(40);
        one.due = (today + static_cast<int>(random.next() % 20) - 10).iso();
        IndexRows index;
        index.due = {{"retest", one.due}};
        add(RecordKind::Plan, one.id, one.plan_since, index);
        if (one.due <= one.last_visit) one.due.clear();
      }
      if (random.uniform() < 0.5) {
        one.last_session = day(30);
        add(RecordKind::SessionLog, one.id, one.last_session);
      }
      if (random.uniform() < 0.15) {
        one.archived = true;
        set_state(one.id, RecordState::Archived);
      }
      all.push_back(one);
    }
  });
  std::sort(all.begin(), all.end(), [](const Known& a, const Known& b) {
    return std::tie(a.folded, a.id) < std::tie(b.folded, b.id);
  });
  const auto ago = [&](int days) { return (today - days).iso(); };
  std::map<CaseloadView, std::vector<Known>> expected;
  for (const Known& one : all) {
    if (one.archived) {
      expected[CaseloadView::Archived].push_back(one);
      continue;
    }
    expected[CaseloadView::All].push_back(one);
    if (one.today) expected[CaseloadView::Today].push_back(one);
    if (!one.due.empty() && one.due <= kToday) expected[CaseloadView::Due].push_back(one);
    const bool no_session =
        !one.plan_since.empty() && one.plan_since < ago(14) && one.last_session < ago(14);
    const bool no_visit = one.last_visit < ago(42) && one.taken_in < ago(42);
    if (no_session || no_visit) expected[CaseloadView::Stalled].push_back(one);
    if (one.taken_in >= ago(14)) expected[CaseloadView::New].push_back(one);
  }
  std::vector<Known>& due = expected[CaseloadView::Due];
  std::stable_sort(due.begin(), due.end(),
                   [](const Known& a, const Known& b) { return a.due < b.due; });
  const std::vector<std::int64_t> counts = expect_value(read_value<std::vector<std::int64_t>>(
      database(), [&](Transaction& t) { return count_views(t, club_, kToday); }));
  for (const char* name : {"all", "today", "due", "stalled", "new", "archived"}) {
    const CaseloadView view = *caseload_view_from(name);
    for (const int limit : {3, 500}) {
      const std::vector<CaseloadRow> got = rows({"", view, "", "", ""}, limit);
      ASSERT_EQ(got.size(), expected[view].size()) << name;
      for (std::size_t i = 0; i < got.size(); ++i) {
        EXPECT_EQ(got[i].athlete, expected[view][i].id) << name << " " << i;
        EXPECT_EQ(got[i].last_visit, expected[view][i].last_visit);
        EXPECT_EQ(got[i].last_session, expected[view][i].last_session);
        EXPECT_EQ(got[i].next_due, expected[view][i].due);
      }
    }
    EXPECT_GT(expected[view].size(), 0u) << name;  // or nothing was tried
    EXPECT_EQ(counts.at(static_cast<std::size_t>(view)),
              static_cast<std::int64_t>(expected[view].size()))
        << name;
  }
}

// Where a condition is fulfilled by many, the lists are read in another way than where by few.
TEST_P(CaseloadTest, IsTheSameForManyAsForFew) {
  Names all, half;
  in_one_transaction([&] {
    for (int i = 0; i < 1050; ++i) {
      const std::string number = std::to_string(10'000 + i);
      const std::string name = "Person " + number + (i % 2 == 0 ? " Brinvik" : " Feldsund");
      add_person(name, "2026-03-05", {"club"});
      all.push_back(name);
      if (i % 2 == 0) half.push_back(name);
    }
  });
  EXPECT_EQ(names(CaseloadView::All, "person"), all);
  EXPECT_EQ(names(CaseloadView::New), all);
  EXPECT_EQ(names(CaseloadView::All, "", "club"), all);
  EXPECT_EQ(names(CaseloadView::New, "rinv", "club"), half);
  EXPECT_EQ(names(CaseloadView::New, "10007 pers", "club"), Names{all[7]});
  EXPECT_TRUE(names(CaseloadView::New, "brinvik feldsund", "club").empty());
}

TEST_P(CaseloadTest, CountsAndWordsForgetWhoWasErased) {
  const std::string ansa = add_person("Ansa Brinvik", "2026-03-05");
  add_person("Ansa Havsten", "2026-01-05");
  const auto counts = [&] {
    return expect_value(read_value<std::vector<std::int64_t>>(
        database(), [&](Transaction& t) { return count_views(t, club_, kToday); }));
  };
  EXPECT_EQ(counts(), (std::vector<std::int64_t>{2, 0, 0, 1, 1, 0}));
  EXPECT_EQ(ask_outside("SELECT DISTINCT word FROM name_words ORDER BY word"),
            "ansa\nbrinvik\nhavsten\n");
  ASSERT_TRUE(database().write([&](Transaction& t) -> Result<void> {
    LINTEL_TRY(erase_athlete(t, club_, ansa));
    return {};
  }));
  EXPECT_EQ(counts(), (std::vector<std::int64_t>{1, 0, 0, 1, 0, 0}));
  EXPECT_EQ(ask_outside("SELECT DISTINCT word FROM name_words ORDER BY word"), "ansa\nhavsten\n");
}

TEST_P(CaseloadTest, IsEmptyForAnotherOrganization) {
  add_person("Ansa Brinvik", "2026-03-01", {"masters"});
  const auto got = read_value<CaseloadPage>(database(), [&](Transaction& t) {
    return list_caseload(t, {"elsewhere", CaseloadView::All, kToday, "", "masters"}, {});
  });
  EXPECT_TRUE(expect_value(got).rows.empty());
}

TEST_P(CaseloadTest, TimelineIsTheNewestFirstAndOnlyOfTheAthlete) {
  const std::string ansa = add_person("Ansa Brinvik", "2026-01-05");
  const std::string jorunn = add_person("Jorunn Havsten", "2026-01-05");
  add(RecordKind::Visit, ansa, "2026-02-02");
  add(RecordKind::Plan, ansa, "2026-03-02");
  add(RecordKind::Attachment, ansa, "");  // without a day
  add(RecordKind::Visit, jorunn, "2026-02-03");
  const auto timeline = [&](const std::string& organization, int limit) {
    return expect_value(read_value<std::vector<TimelineRow>>(database(), [&](Transaction& t) {
      return athlete_timeline(t, organization, ansa, limit);
    }));
  };
  ASSERT_EQ(timeline(club_, 100).size(), 2u);
  EXPECT_EQ(timeline(club_, 100)[0].kind, "plan");
  EXPECT_EQ(timeline(club_, 100)[1].date, "2026-02-02");
  EXPECT_EQ(timeline(club_, 1).size(), 1u);
  EXPECT_TRUE(timeline("elsewhere", 100).empty());
}

TEST_P(CaseloadTest, TrendsHaveEveryValueInOrder) {
  const std::string ansa = add_person("Ansa Brinvik", "2026-01-05");
  for (const char* date : {"2026-03-02", "2026-02-02"}) {
    IndexRows tests;
    tests.tests = {{"knee_to_wall_distance", "right", date, "cm", 10.5, 0.7},
                   {"knee_to_wall_distance", "left", date, "cm", 9.25, 0.7}};
    add(RecordKind::TestRecord, ansa, date, tests);
    IndexRows trial;
    trial.measures = {{"trunk_inclination", date, "deg", 40.0, 1.5}};
    add(RecordKind::Trial, ansa, date, trial);
  }
  const std::vector<TrendRow> trends = expect_value(read_value<std::vector<TrendRow>>(
      database(), [&](Transaction& t) { return athlete_trends(t, club_, ansa); }));
  Names got;
  for (const TrendRow& row : trends) got.push_back(row.name + "/" + row.side + "/" + row.date);
  EXPECT_EQ(
      got,
      (Names{"knee_to_wall_distance/left/2026-02-02", "knee_to_wall_distance/left/2026-03-02",
             "knee_to_wall_distance/right/2026-02-02", "knee_to_wall_distance/right/2026-03-02",
             "trunk_inclination//2026-02-02", "trunk_inclination//2026-03-02"}));
  EXPECT_EQ(trends[0].value, 9.25);
  EXPECT_EQ(trends[0].unit, "cm");
}

TEST(StalledFrom, CountsTheDaysOfItsDefinition) {
  EXPECT_EQ(stalled_from("2026-01-01", "", "", ""), "2026-02-13");  // 43 days after
  EXPECT_EQ(stalled_from("2026-01-01", "2026-03-01", "", ""), "2026-04-13");
  EXPECT_EQ(stalled_from("2026-01-01", "2026-03-01", "2026-03-01", ""), "2026-03-16");
  EXPECT_EQ(stalled_from("2026-01-01", "2026-03-01", "2026-03-01", "2026-03-20"), "2026-04-04");
  EXPECT_EQ(stalled_from("2026-01-01", "2026-03-01", "", "2026-03-20"), "2026-04-13");
}

}  // namespace
}  // namespace lintel::store
