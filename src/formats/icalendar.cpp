#include "formats/icalendar.h"

#include <cstdint>
#include <set>

#include "base/cautions.h"
#include "base/text.h"
#include "formats/utf8.h"
#include "secure/uuid.h"

namespace lintel::formats {
namespace {

constexpr std::size_t kLongestLine = 75;  // octets without the line break: RFC 5545, section 3.1
constexpr int kLongestEvent = 366;        // days
constexpr int kSecondsPerDay = 86400;

// One content line, folded: RFC 5545, section 3.1. The blank that opens a continuation counts.
void add_line(std::string& out, std::string_view line) {
  std::size_t used = 0;
  for (std::size_t i = 0; i < line.size();) {
    const std::size_t length = utf8_length(line.substr(i));
    if (used + length > kLongestLine) {
      out += "\r\n ";
      used = 1;
    }
    out.append(line.substr(i, length));
    used += length;
    i += length;
  }
  out += "\r\n";
}

// TEXT: RFC 5545, section 3.3.11. No control characters but the line feed, which is written "\n".
std::string escaped(std::string_view words) {
  std::string out;
  for (const char c : valid_utf8(words)) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '\\' || c == ';' || c == ',') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (c == '\r') {
      continue;
    } else if (byte < 0x20 || byte == 0x7F) {
      out += ' ';
    } else {
      out += c;
    }
  }
  return out;
}

std::string compact(Date date) {
  const Date::Civil day = date.civil();
  return text("%04d%02d%02d", day.year, day.month, day.day);
}

std::string compact(const UtcMoment& moment) {
  const int s = moment.second;
  return compact(moment.date) + text("T%02d%02d%02dZ", s / 3600, s / 60 % 60, s % 60);
}

// Parts are told apart by a character that no id holds, so that no two events share a name.
std::string uid_of(const std::string& athlete_id, const AllDayEvent& event) {
  return secure::to_string(
      secure::named_uuid(secure::kLintelNamespace,
                         "event\n" + athlete_id + "\n" + event.kind + "\n" + event.first.iso()));
}

void add_event(std::string& out, const std::string& uid, const AllDayEvent& event,
               const CalendarStamp& stamp) {
  std::string description = event.description;
  if (!description.empty() && description.back() != '\n') description += '\n';
  description += cautions_brief();
  add_line(out, "BEGIN:VEVENT");
  add_line(out, "UID:" + uid);
  add_line(out, "DTSTAMP:" + compact(stamp.made));
  add_line(out, text("SEQUENCE:%d", stamp.sequence));
  add_line(out, "DTSTART;VALUE=DATE:" + compact(event.first));
  add_line(out, "DTEND;VALUE=DATE:" + compact(event.first + event.days));
  add_line(out, "SUMMARY:" + escaped(event.summary));
  add_line(out, "DESCRIPTION:" + escaped(description));
  if (!event.category.empty()) add_line(out, "CATEGORIES:" + escaped(event.category));
  add_line(out, "CLASS:PRIVATE");
  add_line(out, "TRANSP:TRANSPARENT");
  add_line(out, "END:VEVENT");
}

tl::unexpected<Error> invalid(std::string field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

std::string who(const plan::Plan& plan) {
  return plan.athlete_name.empty() ? plan.athlete_id : plan.athlete_name;
}

// Where a warning sign was noted every event says first whom to see.
std::string referral_lines(const plan::Plan& plan) {
  return plan.referral.empty() ? std::string() : plan.referral + "\n";
}

std::string session_text(const plan::Plan& plan, const plan::PlannedSession& session) {
  std::string out = referral_lines(plan);
  for (const plan::SessionItem& item : session.items) {
    const plan::PlannedDrill& drill = plan.drills[item.drill];
    out += drill.name + text(": %d of %d sets, ", item.sets, drill.dose.sets) +
           plan::dose_text(drill.dose) + "; " + drill.step_name + "\n";
  }
  for (const std::string& rule : plan.stop_rules) out += rule + "\n";
  return out;
}

}  // namespace

Result<UtcMoment> parse_utc(std::string_view iso) {
  const auto bad = [&iso] {
    return fail(ErrorCode::Invalid, "\"" + std::string(iso) + "\" is no moment in UTC",
                "write it as 2026-11-25T19:43:05Z");
  };
  if (iso.size() != 20 || iso[10] != 'T' || iso[13] != ':' || iso[16] != ':' || iso[19] != 'Z') {
    return bad();
  }
  UtcMoment moment;
  moment.date = LINTEL_TRY(Date::parse(iso.substr(0, 10)));
  for (const std::size_t at : {11u, 14u, 17u}) {
    const int tens = iso[at] - '0';
    const int ones = iso[at + 1] - '0';
    if (tens < 0 || tens > (at == 11 ? 2 : 5) || ones < 0 || ones > 9) return bad();
    moment.second = moment.second * 60 + 10 * tens + ones;
  }
  if (moment.second >= kSecondsPerDay) return bad();
  return moment;
}

Calendar retest_calendar(const plan::Plan& plan) {
  Calendar calendar{plan.athlete_id, {}};
  for (const plan::PlannedRetest& retest : plan.retests) {
    const bool film = retest.test == "clip";
    AllDayEvent event;
    event.kind = film ? "film" : "retest/" + retest.test;
    event.first = retest.date;
    event.summary = (film ? "Film again: " : "Test again: ") + retest.label + ", " + who(plan);
    event.description =
        referral_lines(plan) +
        text(film ? "%d repetitions, averaged. " : "Mean of %d tries. ", retest.trials) +
        retest.reason;
    event.category = film ? "FILM" : "RE-TEST";
    calendar.events.push_back(std::move(event));
  }
  return calendar;
}

Calendar session_calendar(const plan::Plan& plan) {
  Calendar calendar{plan.athlete_id, {}};
  for (const plan::PlannedWeek& week : plan.schedule) {
    AllDayEvent event;
    event.kind = "week";
    event.first = week.start;
    event.days = 7;
    event.summary = text(week.deload ? "Week %d of %d, lighter: " : "Week %d of %d: ", week.number,
                         plan.weeks) +
                    who(plan);
    event.description = referral_lines(plan);
    if (week.deload) event.description += "Half of the sets this week.\n";
    event.category = "WEEK";
    calendar.events.push_back(event);
    for (std::size_t i = 0; i < week.sessions.size(); ++i) {
      const plan::PlannedSession& session = week.sessions[i];
      AllDayEvent day;
      day.kind = text("session/%zu", i + 1);
      day.first = week.start + session.day;
      day.summary = text("Mobility, %.0f min: ", session.time / 60.0) + who(plan);
      day.description = session_text(plan, session);
      day.category = "SESSION";
      calendar.events.push_back(std::move(day));
    }
  }
  return calendar;
}

Result<std::string> write_icalendar(const Calendar& calendar, const CalendarStamp& stamp) {
  if (calendar.events.empty()) {
    return invalid("events", "a calendar file needs at least one event", "leave the file out");
  }
  if (stamp.made.second < 0 || stamp.made.second >= kSecondsPerDay) {
    return invalid("stamp.second", "lies outside of a day", "give 0 to 86399");
  }
  if (stamp.sequence < 0) return invalid("stamp.sequence", "is below 0", "give 0 or more");
  std::string out;
  add_line(out, "BEGIN:VCALENDAR");
  add_line(out, "VERSION:2.0");
  add_line(out, "PRODID:-//Lintel//Plan//EN");
  add_line(out, "CALSCALE:GREGORIAN");
  std::set<std::string> seen;
  for (std::size_t i = 0; i < calendar.events.size(); ++i) {
    const AllDayEvent& event = calendar.events[i];
    const std::string field = text("events[%zu]", i);
    if (event.days < 1 || event.days > kLongestEvent) {
      return invalid(field + ".days", text("%d days", event.days), "give 1 to 366");
    }
    if ((event.first + event.days) - event.first != event.days) {
      return invalid(field + ".first", "ends after the year 2199", "give an earlier day");
    }
    const std::string uid = uid_of(calendar.athlete_id, event);
    if (!seen.insert(uid).second) {
      return invalid(field, "the same kind twice on " + event.first.iso(),
                     "give each its own kind");
    }
    add_event(out, uid, event, stamp);
  }
  add_line(out, "END:VCALENDAR");
  return out;
}

}  // namespace lintel::formats
