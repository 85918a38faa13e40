#include "app/schedule.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "base/date.h"

namespace lintel::app {
namespace {

const std::vector<std::string> kTimes = {"03:30", "21:00"};

TEST(Schedule, FindsTheLastTimeThatHasPassed) {
  EXPECT_EQ(last_due(kTimes, "2026-03-09T07:05:30.123Z"), "2026-03-09T03:30:00Z");
  EXPECT_EQ(last_due(kTimes, "2026-03-09T03:30:00.000Z"), "2026-03-09T03:30:00Z");
  EXPECT_EQ(last_due(kTimes, "2026-03-09T23:59:59.000Z"), "2026-03-09T21:00:00Z");
  EXPECT_EQ(last_due(kTimes, "2026-03-01T03:29:59.000Z"), "2026-02-28T21:00:00Z");
  EXPECT_EQ(last_due({}, "2026-03-09T07:05:30.123Z"), "");
}

TEST(Schedule, IsDueWhenNoneWasMadeSince) {
  const std::string now = "2026-03-09T07:05:30.123Z";
  EXPECT_TRUE(backup_is_due(kTimes, now, {}));
  EXPECT_TRUE(backup_is_due(kTimes, now, {{"a", "2026-03-09T03:29:59Z", 1}}));
  EXPECT_FALSE(backup_is_due(kTimes, now, {{"a", "2026-03-09T03:30:00Z", 1}}));
  EXPECT_FALSE(backup_is_due(kTimes, now, {{"a", "2026-03-09T06:00:00Z", 1}}));
  EXPECT_FALSE(backup_is_due({}, now, {}));
}

// A backup each day at 03:30 and one more at noon, for 60 days up to Wednesday, 2026-03-11.
std::vector<view::BackupFile> sixty_days() {
  std::vector<view::BackupFile> out;
  const Date last = Date::parse("2026-03-11").value();
  for (int day = 59; day >= 0; --day) {
    for (const char* time : {"T03:30:00Z", "T12:00:00Z"}) {
      const std::string at = (last - day).iso() + time;
      out.push_back({at, at, 1});
    }
  }
  return out;
}

std::vector<std::string> kept(std::vector<view::BackupFile> made, int daily, int weekly) {
  const auto gone = backups_to_remove(made, daily, weekly);
  std::vector<std::string> out;
  for (const auto& file : made) {
    const bool removed = std::any_of(gone.begin(), gone.end(),
                                     [&](const auto& other) { return other.name == file.name; });
    if (!removed) out.push_back(file.made_at);
  }
  return out;
}

// By hand from a calendar: 2026-03-11 is a Wednesday, so weeks end on Sundays 8 and 1 March and
// 22 February.
TEST(Schedule, KeepsTheNewestOfDaysAndWeeks) {
  EXPECT_EQ(kept(sixty_days(), 3, 4),
            (std::vector<std::string>{"2026-02-22T12:00:00Z", "2026-03-01T12:00:00Z",
                                      "2026-03-08T12:00:00Z", "2026-03-09T12:00:00Z",
                                      "2026-03-10T12:00:00Z", "2026-03-11T12:00:00Z"}));
  EXPECT_EQ(kept(sixty_days(), 1, 0), (std::vector<std::string>{"2026-03-11T12:00:00Z"}));
  EXPECT_EQ(kept(sixty_days(), 0, 0), (std::vector<std::string>{"2026-03-11T12:00:00Z"}));
  EXPECT_EQ(kept(sixty_days(), 1000, 0).size(), 60U);
  EXPECT_EQ(kept({}, 7, 4).size(), 0U);
}

TEST(Schedule, CountsDaysThatHaveABackupNotDaysThatHavePassed) {
  // The machine was off for a month: what is there stays.
  const std::vector<view::BackupFile> made = {{"a", "2026-01-05T03:30:00Z", 1},
                                              {"b", "2026-01-06T03:30:00Z", 1},
                                              {"c", "2026-03-11T03:30:00Z", 1}};
  EXPECT_TRUE(backups_to_remove(made, 3, 0).empty());
}

}  // namespace
}  // namespace lintel::app
