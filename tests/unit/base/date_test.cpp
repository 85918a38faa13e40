#include "base/date.h"

#include <gtest/gtest.h>

#include <chrono>

namespace lintel {
namespace {

TEST(Date, EveryDayAgreesWithTheStandardLibrary) {
  using namespace std::chrono;
  const sys_days first = sys_days(year(1900) / 1 / 1), last = sys_days(year(2199) / 12 / 31);
  for (sys_days day = first; day <= last; day += days(1)) {
    const year_month_day expected(day);
    const Date date = Date::from_days(day.time_since_epoch().count());
    const Date::Civil civil = date.civil();
    ASSERT_EQ(civil.year, int(expected.year()));
    ASSERT_EQ(civil.month, static_cast<int>(unsigned(expected.month())));
    ASSERT_EQ(civil.day, static_cast<int>(unsigned(expected.day())));
    ASSERT_EQ(static_cast<unsigned>(date.weekday()) + 1, weekday(day).iso_encoding());
    const auto again = Date::create(civil.year, civil.month, civil.day);
    ASSERT_TRUE(again);
    ASSERT_EQ(*again, date);
  }
}

TEST(Date, ReadsAndWritesIso8601) {
  for (const char* iso : {"1900-01-01", "1970-01-01", "2000-02-29", "2026-11-25", "2199-12-31"}) {
    const auto date = Date::parse(iso);
    ASSERT_TRUE(date) << iso << date.error();
    EXPECT_EQ(date->iso(), iso);
  }
}

TEST(Date, RefusesEverythingElse) {
  for (const char* bad :
       {"", "2026-1-5", "2026-11-5 ", "26-11-25", "2026/11/25", "2026-13-01", "2026-00-10",
        "2026-02-29", "2100-02-29", "2026-04-31", "2026-11-00", "1899-12-31", "2200-01-01",
        "2026-11-25T10:00", "+026-11-25", "2026-1a-25", "-026-11-25"}) {
    const auto date = Date::parse(bad);
    ASSERT_FALSE(date) << bad;
    EXPECT_EQ(date.error().code, ErrorCode::Invalid);
    EXPECT_FALSE(date.error().message.empty());
  }
}

TEST(Date, DifferencesAndWeeks) {
  const Date a = Date::parse("2026-02-20").value(), b = Date::parse("2026-03-06").value();
  EXPECT_EQ(b - a, 14);
  EXPECT_EQ(a + 14, b);
  EXPECT_EQ(b - 14, a);
  EXPECT_DOUBLE_EQ(weeks_between(a, b), 2.0);
  EXPECT_DOUBLE_EQ(weeks_between(b, a), -2.0);
  EXPECT_LT(a, b);
}

TEST(Date, FarDaysAreClampedAndDoNotOverflow) {
  EXPECT_EQ(Date::from_days(INT64_MAX).iso(), "2199-12-31");
  EXPECT_EQ(Date::from_days(INT64_MIN).iso(), "1900-01-01");
  EXPECT_EQ((Date::from_days(INT64_MAX) + INT32_MAX).iso(), "2199-12-31");
}

}  // namespace
}  // namespace lintel
