// Days of the calendar, without a clock: arithmetic, ISO 8601 in and out.
#pragma once

#include <compare>
#include <cstdint>
#include <string>
#include <string_view>

#include "base/result.h"

namespace lintel {

enum class Weekday : std::uint8_t {
  Monday,
  Tuesday,
  Wednesday,
  Thursday,
  Friday,
  Saturday,
  Sunday
};

// One day of the proleptic Gregorian calendar, in the years 1900 to 2199. Ordered in time.
class Date {
 public:
  struct Civil {
    int year = 1970;
    int month = 1;  // 1 to 12
    int day = 1;    // 1 to 31
  };

  constexpr Date() = default;  // 1970-01-01

  // Errors: Invalid for a day that the calendar does not have, or a year outside 1900 to 2199.
  static Result<Date> create(int year, int month, int day);
  // "YYYY-MM-DD" (ISO 8601 extended, calendar date) and nothing else around it. Errors: Invalid.
  static Result<Date> parse(std::string_view iso);
  // Days since 1970-01-01; clamped to the years above, so that arithmetic cannot overflow.
  static Date from_days(std::int64_t days);

  int days() const { return days_; }  // since 1970-01-01
  Civil civil() const;
  std::string iso() const;  // "2026-03-09"
  Weekday weekday() const;

  constexpr auto operator<=>(const Date&) const = default;
  Date operator+(int days) const { return from_days(std::int64_t{days_} + days); }
  Date operator-(int days) const { return from_days(std::int64_t{days_} - days); }
  // Whole days from the other day to this one.
  int operator-(Date other) const { return days_ - other.days_; }

 private:
  explicit constexpr Date(int days) : days_(days) {}
  int days_ = 0;
};

inline constexpr double kDaysPerWeek = 7.0;

// Weeks from one day to another; negative when `to` lies before `from`.
inline double weeks_between(Date from, Date to) {
  return (to - from) / kDaysPerWeek;
}

}  // namespace lintel
