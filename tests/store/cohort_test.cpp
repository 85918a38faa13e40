#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <sstream>

#include "base/date.h"
#include "base/random.h"
#include "store/caseload_queries.h"
#include "support/store_fixture.h"

namespace lintel::store {
namespace {

using lintel::test::expect_value;
using lintel::test::kToday;
using lintel::test::StoreTest;

class CohortTest : public StoreTest {
 protected:
  void SetUp() override {
    StoreTest::SetUp();
    if (!IsSkipped()) club_ = add_organization("Skarnholm");
  }
  std::string add_person(const std::string& born) {
    NewRecord record;
    record.organization = club_;
    record.index.athlete = AthleteRow{"Somebody", born, "male", {}};
    return insert(record).id;
  }
  Record add_test(const std::string& athlete, const std::string& side, const std::string& date,
                  double value) {
    NewRecord record;
    record.kind = RecordKind::TestRecord;
    record.organization = club_;
    record.athlete = athlete;
    record.index.date = date;
    record.index.tests = {{"knee_to_wall_distance", side, date, "cm", value, 0.7},
                          {"hip_flexion", side, date, "deg", value * 10.0, 4.0}};
    return insert(record);
  }
  void add_drill(const std::string& athlete, const std::string& drill, const std::string& date) {
    NewRecord record;
    record.kind = RecordKind::SessionLog;
    record.organization = club_;
    record.athlete = athlete;
    record.index.date = date;
    record.index.drills = {{drill, date, 3, 6.0, std::nullopt}};
    insert(record);
  }
  Record insert(const NewRecord& record) {
    return expect_value(in_transaction([&](Transaction& t) {
      return insert_record(t, record, {"runa", lintel::test::kNow});
    }));
  }
  std::vector<CohortRow> range() {
    return expect_value(read_value<std::vector<CohortRow>>(database(), [&](Transaction& t) {
      return cohort_range(t, club_, "knee_to_wall_distance", kToday);
    }));
  }
  std::vector<DrillChangeRow> changes() {
    return expect_value(read_value<std::vector<DrillChangeRow>>(database(), [&](Transaction& t) {
      return cohort_change_by_drill(t, club_, "knee_to_wall_distance");
    }));
  }
  std::string club_;
};
LINTEL_BOTH_ENGINES(CohortTest);

// The quantile of Hyndman and Fan, type 7, straight from its definition.
double quantile(std::vector<double> values, double p) {
  std::sort(values.begin(), values.end());
  const double at = p * static_cast<double>(values.size() - 1);
  const std::size_t low = static_cast<std::size_t>(std::floor(at));
  const std::size_t high = std::min(low + 1, values.size() - 1);
  return values[low] + (at - static_cast<double>(low)) * (values[high] - values[low]);
}

TEST_P(CohortTest, MediansByAgeAndSideAgreeWithTwoOtherCounts) {
  Random random(20260309);
  const Date today = *Date::parse(kToday);
  std::map<std::string, std::vector<double>> newest;  // "20-29 left" -> values
  in_one_transaction([&] {
    for (int i = 0; i < 120; ++i) {
      const int age_days = static_cast<int>(random.uniform(15 * 365.25, 65 * 365.25));
      const std::string born = i % 20 == 0 ? "" : (today - age_days).iso();
      const std::string athlete = add_person(born);
      std::string band;
      if (!born.empty()) {
        // Whole years by counting birthdays.
        int years = 0;
        const Date::Civil birth = Date::parse(born)->civil();
        for (int year = birth.year + 1;; ++year, ++years) {
          Result<Date> birthday = Date::create(year, birth.month, birth.day);
          if (!birthday) birthday = Date::create(year, 3, 1);
          if (*birthday > today) break;
        }
        band = std::to_string(years / 10 * 10) + "-" + std::to_string(years / 10 * 10 + 9);
      }
      for (const char* side : {"left", "right"}) {
        if (random.uniform() < 0.1) continue;
        double last = 0.0;
        for (int n = 1 + static_cast<int>(random.next() % 3), k = 0; k < n; ++k) {
          last = std::round(random.normal(10.0, 3.0) * 2.0) / 2.0;  // with ties
          add_test(athlete, side, (today - 100 + 10 * k).iso(), last);
        }
        newest[band + " " + side].push_back(last);
      }
    }
  });
  const std::vector<CohortRow> rows = range();
  ASSERT_EQ(rows.size(), newest.size());
  for (const CohortRow& row : rows) {
    const auto group = newest.find(row.band + " " + row.side);
    ASSERT_NE(group, newest.end()) << row.band << " " << row.side;
    EXPECT_EQ(row.athletes, static_cast<std::int64_t>(group->second.size()));
    EXPECT_EQ(row.unit, "cm");
    EXPECT_NEAR(row.median, quantile(group->second, 0.5), 1e-9);
    EXPECT_NEAR(row.low_quartile, quantile(group->second, 0.25), 1e-9);
    EXPECT_NEAR(row.high_quartile, quantile(group->second, 0.75), 1e-9);
  }
  if (server() == nullptr) return;
  // PostgreSQL's own aggregate over the same rows, with its own arithmetic of age.
  const std::string outside = ask_outside(
      "SELECT COALESCE(floor(extract(year FROM age(date '2026-03-09', NULLIF(a.birth_date, "
      "'')::date)) / 10)::int * 10, -10), x.side, count(*), percentile_cont(0.25) WITHIN GROUP "
      "(ORDER BY x.value), percentile_cont(0.5) WITHIN GROUP (ORDER BY x.value), "
      "percentile_cont(0.75) WITHIN GROUP (ORDER BY x.value) FROM (SELECT DISTINCT ON (athlete, "
      "side) * FROM test_results WHERE protocol = 'knee_to_wall_distance' ORDER BY athlete, side, "
      "date DESC) x JOIN athletes a ON a.record = x.athlete GROUP BY 1, 2 ORDER BY 1, 2");
  std::istringstream lines(outside);
  std::size_t n = 0;
  for (std::string line; std::getline(lines, line); ++n) {
    std::replace(line.begin(), line.end(), '|', ' ');
    std::istringstream fields(line);
    std::int64_t band = 0, athletes = 0;
    std::string side;
    double low = 0.0, median = 0.0, high = 0.0;
    ASSERT_TRUE(fields >> band >> side >> athletes >> low >> median >> high) << line;
    ASSERT_LT(n, rows.size());
    EXPECT_EQ(rows[n].side, side);
    EXPECT_EQ(rows[n].athletes, athletes);
    EXPECT_NEAR(rows[n].low_quartile, low, 1e-9);
    EXPECT_NEAR(rows[n].median, median, 1e-9);
    EXPECT_NEAR(rows[n].high_quartile, high, 1e-9);
  }
  EXPECT_EQ(n, rows.size());
}

TEST_P(CohortTest, AgeTurnsOnTheBirthday) {
  add_test(add_person("1996-03-09"), "left", "2026-03-01", 9.0);   // thirty today
  add_test(add_person("1996-03-10"), "left", "2026-03-01", 11.0);  // tomorrow
  const std::vector<CohortRow> rows = range();
  ASSERT_EQ(rows.size(), 2u);
  EXPECT_EQ(rows[0].band, "20-29");
  EXPECT_EQ(rows[0].median, 11.0);
  EXPECT_EQ(rows[1].band, "30-39");
}

TEST_P(CohortTest, LeavesOutWhatWasTakenBackAndWhatIsToCome) {
  const std::string ansa = add_person("1996-03-09");
  add_test(ansa, "left", "2026-01-01", 8.0);
  const Record wrong = add_test(ansa, "left", "2026-02-01", 80.0);
  add_test(ansa, "left", "2026-04-01", 12.0);
  EXPECT_EQ(range().at(0).median, 80.0);
  expect_value(write_value<Record>(database(), [&](Transaction& t) {
    return set_record_state(t, wrong.id, 1, RecordState::Withdrawn, "misread",
                            {"runa", lintel::test::kNow});
  }));
  EXPECT_EQ(range().at(0).median, 8.0);
  expect_value(write_value<Record>(database(), [&](Transaction& t) {
    return set_record_state(t, ansa, 1, RecordState::Withdrawn, "", {"runa", lintel::test::kNow});
  }));
  EXPECT_TRUE(range().empty());
}

// By hand. First athlete, left: 8 cm four weeks before the drill's end test of 10 cm: 0.5 cm a
// week; right: 9 to 9.4 cm in four weeks: 0.1. Second athlete, left, who never ends: 7 to 8 cm in
// two weeks: 0.5. Mean of the three: 1.1 / 3.
TEST_P(CohortTest, ChangeAWeekIsFromTheTestBeforeToTheTestAfterTheDrill) {
  const std::string ansa = add_person("1996-03-09"), jorunn = add_person("1990-01-01");
  const std::string idle = add_person("1990-01-01");
  add_test(ansa, "left", "2025-06-01", 2.0);  // long before: not the newest before
  add_test(ansa, "left", "2026-01-05", 8.0);
  add_test(ansa, "right", "2026-01-05", 9.0);
  add_drill(ansa, "calf_stretch", "2026-01-06");
  add_drill(ansa, "calf_stretch", "2026-01-30");
  add_test(ansa, "left", "2026-01-20", 1.0);  // within: neither first nor last
  add_test(ansa, "left", "2026-02-02", 10.0);
  add_test(ansa, "right", "2026-02-02", 9.4);
  add_test(ansa, "left", "2026-03-02", 20.0);  // after the drill was over
  add_test(jorunn, "left", "2026-01-05", 7.0);
  add_test(jorunn, "left", "2026-01-19", 8.0);
  add_drill(jorunn, "calf_stretch", "2026-01-05");
  add_drill(jorunn, "calf_stretch", "2026-02-20");
  add_test(idle, "left", "2026-01-05", 7.0);
  add_test(idle, "left", "2026-01-19", 17.0);
  const std::vector<DrillChangeRow> rows = changes();
  ASSERT_EQ(rows.size(), 1u);
  EXPECT_EQ(rows[0].drill, "calf_stretch");
  EXPECT_EQ(rows[0].athletes, 2);
  EXPECT_EQ(rows[0].unit, "cm");
  EXPECT_NEAR(rows[0].change_per_week, (0.5 + 0.1 + 0.5) / 3.0, 1e-12);
}

TEST_P(CohortTest, OneTestAloneIsNoChange) {
  const std::string ansa = add_person("1996-03-09");
  add_test(ansa, "left", "2026-01-05", 8.0);
  add_drill(ansa, "calf_stretch", "2026-01-06");
  EXPECT_TRUE(changes().empty());
}

}  // namespace
}  // namespace lintel::store
