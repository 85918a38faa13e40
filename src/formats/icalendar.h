// Dates of a plan as a calendar file, iCalendar (RFC 5545): whole days only, so that no time zone
// can move them.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "plan/plan.h"

namespace lintel::formats {

// A moment in UTC, to the second.
struct UtcMoment {
  Date date;
  int second = 0;  // of the day, 0 to 86399
};

// "2026-11-25T19:43:05Z" and nothing else (ISO 8601, UTC). Errors: Invalid.
Result<UtcMoment> parse_utc(std::string_view iso);

struct AllDayEvent {
  std::string kind;  // what tells events of one day apart: "retest/knee_to_wall_distance"
  Date first;
  int days = 1;             // 1 to 366; the file says the day after the last one (DTEND)
  std::string summary;      // one line
  std::string description;  // may hold line feeds; may be empty
  std::string category;     // "RE-TEST"; may be empty
};

struct Calendar {
  std::string athlete_id;
  std::vector<AllDayEvent> events;
};

struct CalendarStamp {
  UtcMoment made;    // DTSTAMP: when the plan was made
  int sequence = 0;  // SEQUENCE, 0 or more: counts changes that keep the day
};

// Re-tests, and the days on which the squat is filmed again.
Calendar retest_calendar(const plan::Plan& plan);
// Weeks (the lighter ones say so) and training days with their drills.
Calendar session_calendar(const plan::Plan& plan);

// The file: CRLF, lines folded at 75 octets, never inside a character. An event's UID is the UUID
// of athlete id, kind and first day, without a host name (as RFC 7986, section 5.3 asks), so that a
// calendar that reads a later file replaces what it has. Events are private and leave the day free.
// Every description ends with the cautions. Broken UTF-8 becomes U+FFFD, control characters spaces.
// Errors: Invalid for no event (RFC 5545, section 3.6 asks for one), days or stamp out of range, or
// two events with the same UID; with the field.
Result<std::string> write_icalendar(const Calendar& calendar, const CalendarStamp& stamp);

}  // namespace lintel::formats
