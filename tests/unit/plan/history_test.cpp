#include "plan/history.h"

#include <gtest/gtest.h>

#include <set>

namespace lintel::plan {
namespace {

Date day(int n) {
  return Date::parse("2026-03-02").value() + n;
}

TEST(History, EntriesOfADrillComeInOrderOfDateUpToADay) {
  History history;
  history.sessions = {{day(4), {{"a", 2}}}, {day(0), {{"a", 0}, {"b", 0}}}, {day(2), {{"a", 1}}}};
  const auto entries = entries_of(history, "a", day(3));
  ASSERT_EQ(entries.size(), 2u);
  EXPECT_EQ(entries[0].done->step, 0);
  EXPECT_EQ(entries[1].done->step, 1);
}

TEST(History, SortingKeepsTheOrderWithinADay) {
  History history;
  history.tests = {{day(1), "x"}, {day(0), "y"}, {day(1), "z"}};
  sort_by_date(history);
  EXPECT_EQ(history.tests[0].protocol, "y");
  EXPECT_EQ(history.tests[1].protocol, "x");
  EXPECT_EQ(history.tests[2].protocol, "z");
}

TEST(History, TheLatestReleaseUpToADayCounts) {
  History history;
  history.releases = {{day(20), "doctor", ""}, {day(5), "doctor", ""}};
  EXPECT_FALSE(last_release(history, day(4)));
  EXPECT_EQ(last_release(history, day(19)), day(5));
  EXPECT_EQ(last_release(history, day(20)), day(20));
}

TEST(StopSigns, HaveNamesOfTheirOwn) {
  std::set<std::string_view> names;
  for (int i = 0; i < kStopSignCount; ++i) names.insert(stop_sign_name(static_cast<StopSign>(i)));
  EXPECT_EQ(names.size(), static_cast<std::size_t>(kStopSignCount));
  EXPECT_TRUE(is_for_a_clinician(StopSign::ChestPain));
  EXPECT_FALSE(is_for_a_clinician(StopSign::LossOfBarControl));
}

}  // namespace
}  // namespace lintel::plan
