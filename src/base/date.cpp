#include "base/date.h"

#include <algorithm>
#include <array>

#include "base/text.h"

namespace lintel {
namespace {

constexpr int kFirstYear = 1900;
constexpr int kLastYear = 2199;

constexpr bool is_leap(int year) {
  return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

constexpr int days_in_month(int year, int month) {
  constexpr std::array<int, 12> kDays = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
  return kDays[static_cast<std::size_t>(month - 1)] + (month == 2 && is_leap(year) ? 1 : 0);
}

// Days before the first of January of `year`, counted from the year 1.
constexpr int days_before_year(int year) {
  const int y = year - 1;
  return 365 * y + y / 4 - y / 100 + y / 400;
}

constexpr int days_since_1970(int year, int month, int day) {
  int days = days_before_year(year) - days_before_year(1970) + day - 1;
  for (int m = 1; m < month; ++m) days += days_in_month(year, m);
  return days;
}

constexpr int kFirst = days_since_1970(kFirstYear, 1, 1);
constexpr int kLast = days_since_1970(kLastYear, 12, 31);

}  // namespace

Result<Date> Date::create(int year, int month, int day) {
  if (year < kFirstYear || year > kLastYear) {
    return fail(ErrorCode::Invalid,
                text("the year is %d; allowed are %d to %d", year, kFirstYear, kLastYear));
  }
  if (month < 1 || month > 12) {
    return fail(ErrorCode::Invalid, text("the month is %d; allowed are 1 to 12", month));
  }
  const int most = days_in_month(year, month);
  if (day < 1 || day > most) {
    return fail(ErrorCode::Invalid,
                text("the day is %d; this month has the days 1 to %d", day, most));
  }
  return Date(days_since_1970(year, month, day));
}

Result<Date> Date::parse(std::string_view iso) {
  const auto digits = [&](std::size_t from, std::size_t count) {
    int value = 0;
    for (std::size_t i = from; i < from + count; ++i) {
      if (iso[i] < '0' || iso[i] > '9') return -1;
      value = 10 * value + (iso[i] - '0');
    }
    return value;
  };
  const bool formed = iso.size() == 10 && iso[4] == '-' && iso[7] == '-';
  const int year = formed ? digits(0, 4) : -1;
  const int month = formed ? digits(5, 2) : -1;
  const int day = formed ? digits(8, 2) : -1;
  if (year < 0 || month < 0 || day < 0) {
    return fail(ErrorCode::Invalid, "is not a date of the form YYYY-MM-DD",
                "write the year with four digits, month and day with two, e.g. 2026-03-09");
  }
  return create(year, month, day);
}

Date Date::from_days(std::int64_t days) {
  return Date(static_cast<int>(std::clamp<std::int64_t>(days, kFirst, kLast)));
}

Date::Civil Date::civil() const {
  // The year is found from the mean length of a year, then corrected by at most one.
  int year = 1970 + static_cast<int>(days_ / 365.2425);
  while (days_since_1970(year, 1, 1) > days_) --year;
  while (days_since_1970(year + 1, 1, 1) <= days_) ++year;
  int rest = days_ - days_since_1970(year, 1, 1);
  int month = 1;
  while (rest >= days_in_month(year, month)) {
    rest -= days_in_month(year, month);
    ++month;
  }
  return {year, month, rest + 1};
}

std::string Date::iso() const {
  const Civil c = civil();
  return text("%04d-%02d-%02d", c.year, c.month, c.day);
}

Weekday Date::weekday() const {
  // 1970-01-01 was a Thursday.
  const int from_monday = ((days_ + 3) % 7 + 7) % 7;
  return static_cast<Weekday>(from_monday);
}

}  // namespace lintel
