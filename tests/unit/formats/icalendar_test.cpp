// The calendar against the grammar of RFC 5545, read by a small strict parser of its own.
#include "formats/icalendar.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <map>
#include <set>
#include <stdexcept>

#include "base/cautions.h"
#include "base/random.h"
#include "formats/utf8.h"
#include "support/example_plan.h"

namespace lintel::formats {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

struct Property {
  std::string name, parameters, value;
};

// Section 3.1: lines end in CRLF and have at most 75 octets; CRLF and one blank are taken out.
std::vector<std::string> content_lines(const std::string& file) {
  std::vector<std::string> lines;
  std::size_t begin = 0;
  while (begin < file.size()) {
    const std::size_t end = file.find("\r\n", begin);
    if (end == std::string::npos) throw std::runtime_error("the last line has no CRLF");
    const std::string line = file.substr(begin, end - begin);
    begin = end + 2;
    if (line.size() > 75) throw std::runtime_error("a line of " + std::to_string(line.size()));
    if (line.find_first_of("\r\n") != std::string::npos) throw std::runtime_error("bare CR or LF");
    if (valid_utf8(line) != line) throw std::runtime_error("folded inside of a character");
    if (line.empty()) throw std::runtime_error("an empty line");
    if (line[0] == ' ') {
      if (lines.empty()) throw std::runtime_error("nothing to continue");
      lines.back() += line.substr(1);
    } else {
      lines.push_back(line);
    }
  }
  return lines;
}

// contentline = name *(";" param) ":" value; none of our parameters is quoted.
Property property_of(const std::string& line) {
  const std::size_t colon = line.find(':');
  if (colon == std::string::npos) throw std::runtime_error("no colon: " + line);
  const std::string head = line.substr(0, colon);
  const std::size_t semicolon = std::min(head.find(';'), head.size());
  Property p{head.substr(0, semicolon), head.substr(semicolon), line.substr(colon + 1)};
  for (const char c : p.name) {
    if (!(c >= 'A' && c <= 'Z') && c != '-') throw std::runtime_error("name: " + p.name);
  }
  for (const char c : p.value) {  // value = *VALUE-CHAR = WSP / %x21-7E / NON-US-ASCII
    const auto byte = static_cast<unsigned char>(c);
    if ((byte < 0x20 && c != '\t') || byte == 0x7F) throw std::runtime_error("control character");
  }
  return p;
}

// text of section 3.3.11, unescaped; a bare comma or semicolon is refused.
std::string text_of(const std::string& value) {
  std::string out;
  for (std::size_t i = 0; i < value.size(); ++i) {
    if (value[i] == ',' || value[i] == ';') throw std::runtime_error("not escaped: " + value);
    if (value[i] != '\\') {
      out += value[i];
      continue;
    }
    if (++i == value.size()) throw std::runtime_error("escape at the end");
    if (value[i] == 'n' || value[i] == 'N') {
      out += '\n';
    } else if (value[i] == '\\' || value[i] == ',' || value[i] == ';') {
      out += value[i];
    } else {
      throw std::runtime_error("unknown escape: " + value);
    }
  }
  return out;
}

using Event = std::map<std::string, Property>;

// Sections 3.4, 3.6 and 3.6.1: VCALENDAR with VERSION and PRODID once, at least one VEVENT, each
// with UID and DTSTAMP once, none of the properties twice.
std::vector<Event> parse(const std::string& file) {
  const std::vector<std::string> lines = content_lines(file);
  if (lines.empty() || lines.front() != "BEGIN:VCALENDAR" || lines.back() != "END:VCALENDAR") {
    throw std::runtime_error("no VCALENDAR around it");
  }
  std::vector<Event> events;
  std::map<std::string, std::string> head;
  bool inside = false;
  for (std::size_t i = 1; i + 1 < lines.size(); ++i) {
    const Property p = property_of(lines[i]);
    if (p.name == "BEGIN" || p.name == "END") {
      if (p.value != "VEVENT" || inside == (p.name == "BEGIN")) throw std::runtime_error(lines[i]);
      inside = p.name == "BEGIN";
      if (inside) events.emplace_back();
    } else if (inside) {
      if (!events.back().emplace(p.name, p).second) throw std::runtime_error("twice: " + lines[i]);
    } else {
      if (!events.empty()) throw std::runtime_error("property after the events: " + lines[i]);
      if (!head.emplace(p.name, p.value).second) throw std::runtime_error("twice: " + lines[i]);
    }
  }
  if (inside || events.empty()) throw std::runtime_error("no event, or one that is open");
  if (head["VERSION"] != "2.0" || head["PRODID"].empty()) throw std::runtime_error("head");
  for (const Event& event : events) {
    if (!event.contains("UID") || !event.contains("DTSTAMP")) throw std::runtime_error("no UID");
  }
  return events;
}

CalendarStamp stamp() {
  return {{*Date::create(2026, 11, 25), 19 * 3600 + 43 * 60 + 5}, 0};
}

AllDayEvent event_named(std::string summary) {
  return {"retest/x", *Date::create(2026, 12, 28), 1, std::move(summary), "", "RE-TEST"};
}

std::string written(const Calendar& calendar) {
  const auto file = write_icalendar(calendar, stamp());
  EXPECT_TRUE(file.has_value()) << describe(file.error());
  return file.value_or("");
}

TEST(ICalendar, WritesAnEventOfOneDay) {
  const Event event = parse(written({"sk-07", {event_named("Test again")}})).at(0);
  // Section 3.3.4: a date is eight digits; 3.3.5, form 2: UTC ends in Z.
  EXPECT_EQ(event.at("DTSTART").parameters, ";VALUE=DATE");
  EXPECT_EQ(event.at("DTSTART").value, "20261228");
  EXPECT_EQ(event.at("DTEND").parameters, ";VALUE=DATE");
  EXPECT_EQ(event.at("DTEND").value, "20261229");  // the day after: "non-inclusive end", 3.6.1
  EXPECT_EQ(event.at("DTSTAMP").value, "20261125T194305Z");
  EXPECT_EQ(event.at("SEQUENCE").value, "0");
  EXPECT_EQ(event.at("CLASS").value, "PRIVATE");
  EXPECT_EQ(event.at("TRANSP").value, "TRANSPARENT");
  EXPECT_EQ(event.at("SUMMARY").value, "Test again");
  EXPECT_EQ(event.at("CATEGORIES").value, "RE-TEST");
}

// Section 3.6.1, example of a multi-day event: 28 June to 8 July 2007 ends on the 9th.
TEST(ICalendar, EndsTheDayAfterTheLastAsInTheExampleOfRfc5545) {
  AllDayEvent event = event_named("Festival");
  event.first = *Date::create(2007, 6, 28);
  event.days = 11;
  const std::string file = written({"sk-07", {event}});
  EXPECT_THAT(file, HasSubstr("\r\nDTSTART;VALUE=DATE:20070628\r\nDTEND;VALUE=DATE:20070709\r\n"));
}

TEST(ICalendar, CrossesLeapDayAndYear) {
  AllDayEvent leap = event_named("leap"), year = event_named("year");
  leap.first = *Date::create(2028, 2, 28);
  leap.days = 2;
  year.first = *Date::create(2026, 12, 31);
  const auto events = parse(written({"sk-07", {leap, year}}));
  EXPECT_EQ(events[0].at("DTEND").value, "20280301");
  EXPECT_EQ(events[1].at("DTEND").value, "20270101");
}

// Section 3.3.11, the example: "Project XYZ Final Review\nConference Room - 3B\nCome Prepared."
TEST(ICalendar, EscapesTextAsInTheExampleOfRfc5545) {
  AllDayEvent event = event_named("a\\b;c,d:e");
  event.description = "Project XYZ Final Review\nConference Room - 3B\r\nCome Prepared.";
  const Event read = parse(written({"sk-07", {event}})).at(0);
  EXPECT_EQ(read.at("SUMMARY").value, "a\\\\b\\;c\\,d:e");
  EXPECT_THAT(read.at("DESCRIPTION").value,
              HasSubstr("Project XYZ Final Review\\nConference Room - 3B\\nCome Prepared.\\n"));
  EXPECT_EQ(text_of(read.at("SUMMARY").value), "a\\b;c,d:e");
}

TEST(ICalendar, BrokenTextCannotBreakTheFile) {
  AllDayEvent event = event_named("END:VEVENT\r\nBEGIN:VALARM\x01\x7F\xFF\xC3");
  const Event read = parse(written({"sk-07", {event}})).at(0);
  EXPECT_EQ(text_of(read.at("SUMMARY").value),
            "END:VEVENT\nBEGIN:VALARM  \xEF\xBF\xBD\xEF\xBF\xBD");
}

// 75 octets stay whole, 76 are folded (section 3.1), and no character is split.
TEST(ICalendar, FoldsAt75OctetsOnBoundariesOfCharacters) {
  const std::string label = "SUMMARY:";
  const auto line_count = [&](const std::string& summary) {
    const std::string file = written({"sk-07", {event_named(summary)}});
    const std::size_t begin = file.find(label), end = file.find("\r\nDESCRIPTION");
    return 1 + std::count(file.begin() + static_cast<std::ptrdiff_t>(begin),
                          file.begin() + static_cast<std::ptrdiff_t>(end), '\n');
  };
  EXPECT_EQ(line_count(std::string(75 - label.size(), 'x')), 1);
  EXPECT_EQ(line_count(std::string(76 - label.size(), 'x')), 2);
  // A character of two octets that would end at octet 76 goes to the next line as a whole.
  EXPECT_EQ(line_count(std::string(74 - label.size(), 'x') + "\xC3\xB8"), 2);
  EXPECT_EQ(line_count(std::string(73 - label.size(), 'x') + "\xC3\xB8"), 1);
}

// Any text comes back as it was, whatever its characters and length.
TEST(ICalendarProperty, FoldingAndEscapingAreUndoneByReading) {
  static const std::vector<std::string> kPieces = {"a",
                                                   " ",
                                                   ",",
                                                   ";",
                                                   "\\",
                                                   "\n",
                                                   ":",
                                                   "\"",
                                                   "\xC3\xB8",
                                                   "\xE2\x82\xAC",
                                                   "\xF0\x9F\x8F\x8B",
                                                   "\\n",
                                                   "  ",
                                                   "BEGIN:VEVENT"};
  Random random(20261125);
  for (int round = 0; round < 3000; ++round) {
    std::string words;
    const auto pieces = random.next() % 120;
    for (std::uint64_t i = 0; i < pieces; ++i) words += kPieces[random.next() % kPieces.size()];
    AllDayEvent event = event_named(words);
    event.description = words;
    const auto events = parse(written({"sk-07", {event}}));
    ASSERT_EQ(events.size(), 1u);
    ASSERT_EQ(text_of(events[0].at("SUMMARY").value), words);
    ASSERT_EQ(text_of(events[0].at("DESCRIPTION").value),
              words + (words.empty() || words.back() == '\n' ? "" : "\n") + cautions_brief());
  }
}

TEST(ICalendar, SameAthleteKindAndDayGiveTheSameUidWhateverElseChanges) {
  const auto uid = [](const std::string& athlete, const AllDayEvent& event) {
    return parse(written({athlete, {event}})).at(0).at("UID").value;
  };
  const AllDayEvent event = event_named("one");
  AllDayEvent renamed = event, moved = event, other = event;
  renamed.summary = "two";
  renamed.days = 3;
  moved.first = event.first + 1;
  other.kind = "film";
  const std::string first = uid("sk-07", event);
  EXPECT_EQ(uid("sk-07", renamed), first);
  EXPECT_NE(uid("sk-07", moved), first);
  EXPECT_NE(uid("sk-07", other), first);
  EXPECT_NE(uid("sk-08", event), first);
  // By another program (Python's uuid.uuid5), of "event\nsk-07\nretest/x\n2026-12-28".
  EXPECT_EQ(first, "d02c503a-375e-53e8-bcc7-ad4437567937");
  EXPECT_THAT(first, Not(HasSubstr("@")));
}

TEST(ICalendar, RefusesWhatNoCalendarMayHold) {
  const auto field_of = [](const Calendar& calendar, const CalendarStamp& at) {
    const auto file = write_icalendar(calendar, at);
    return file ? std::string("written") : file.error().place.field;
  };
  const AllDayEvent good = event_named("x");
  AllDayEvent none = good, late = good;
  none.days = 0;
  late.first = *Date::create(2199, 12, 31);
  CalendarStamp second = stamp(), sequence = stamp();
  second.made.second = 86400;
  sequence.sequence = -1;
  EXPECT_EQ(field_of({"sk-07", {}}, stamp()), "events");
  EXPECT_EQ(field_of({"sk-07", {none}}, stamp()), "events[0].days");
  EXPECT_EQ(field_of({"sk-07", {late}}, stamp()), "events[0].first");
  EXPECT_EQ(field_of({"sk-07", {good, good}}, stamp()), "events[1]");
  EXPECT_EQ(field_of({"sk-07", {good}}, second), "stamp.second");
  EXPECT_EQ(field_of({"sk-07", {good}}, sequence), "stamp.sequence");
  EXPECT_EQ(field_of({"sk-07", {good}}, stamp()), "written");
}

TEST(ICalendar, ReadsAMomentInUtc) {
  const auto moment = parse_utc("2026-11-25T19:43:05Z");
  ASSERT_TRUE(moment.has_value());
  EXPECT_EQ(moment->date.iso(), "2026-11-25");
  EXPECT_EQ(moment->second, 19 * 3600 + 43 * 60 + 5);
  EXPECT_EQ(parse_utc("2026-11-25T23:59:59Z")->second, 86399);
  for (const char* bad :
       {"", "2026-11-25", "2026-11-25T24:00:00Z", "2026-11-25T23:60:00Z", "2026-11-25T23:00:60Z",
        "2026-11-25T23:00:00", "2026-11-31T23:00:00Z", "2026-11-25T2a:00:00Z",
        "2026-11-25 23:00:00Z", "2026-11-25T23:00:00ZZ"}) {
    EXPECT_FALSE(parse_utc(bad).has_value()) << bad;
  }
}

TEST(ICalendar, HoldsEveryRetestOfAPlanWithTheCautions) {
  const plan::Plan plan = test_support::example_plan();
  ASSERT_FALSE(plan.retests.empty());
  const auto events = parse(written(retest_calendar(plan)));
  ASSERT_EQ(events.size(), plan.retests.size());
  for (std::size_t i = 0; i < events.size(); ++i) {
    std::string day = plan.retests[i].date.iso();
    std::erase(day, '-');
    EXPECT_EQ(events[i].at("DTSTART").value, day);
    EXPECT_THAT(text_of(events[i].at("SUMMARY").value), HasSubstr(plan.retests[i].label));
    EXPECT_THAT(text_of(events[i].at("DESCRIPTION").value), HasSubstr(plan.retests[i].reason));
    EXPECT_THAT(text_of(events[i].at("DESCRIPTION").value), HasSubstr(cautions_brief()));
    EXPECT_EQ(events[i].at("CATEGORIES").value,
              plan.retests[i].test == "clip" ? "FILM" : "RE-TEST");
  }
}

TEST(ICalendar, HoldsEveryWeekAndTrainingDay) {
  const plan::Plan plan = test_support::example_plan();
  std::size_t wanted = plan.schedule.size();
  for (const auto& week : plan.schedule) wanted += week.sessions.size();
  ASSERT_GT(wanted, plan.schedule.size());
  const auto events = parse(written(session_calendar(plan)));
  EXPECT_EQ(events.size(), wanted);
  std::set<std::string> uids;
  int lighter = 0;
  for (const Event& event : events) {
    uids.insert(event.at("UID").value);
    lighter += event.at("SUMMARY").value.find("lighter") != std::string::npos ? 1 : 0;
    EXPECT_THAT(text_of(event.at("DESCRIPTION").value), HasSubstr(cautions_brief()));
  }
  EXPECT_EQ(uids.size(), wanted);
  EXPECT_EQ(lighter, std::count_if(plan.schedule.begin(), plan.schedule.end(),
                                   [](const auto& week) { return week.deload; }));
}

TEST(ICalendar, AWarningSignIsSaidInEveryEventAndNoLoadedDrillIsNamed) {
  plan::PlanInput input = test_support::example_plan_input();
  input.planner.warning_signs = {body::WarningSign::Pain};
  const plan::Plan plan = plan::make_plan(built_in_drills(), input).value();
  ASSERT_FALSE(plan.referral.empty());
  std::string all;
  for (const Calendar& calendar : {retest_calendar(plan), session_calendar(plan)}) {
    for (const Event& event : parse(written(calendar))) {
      const std::string words = text_of(event.at("DESCRIPTION").value);
      EXPECT_EQ(words.rfind(plan.referral, 0), 0u) << words;
      all += words;
    }
  }
  int loaded = 0;
  for (const plan::Drill& drill : built_in_drills()) {
    if (!drill.loaded) continue;
    ++loaded;
    EXPECT_THAT(all, Not(HasSubstr(drill.name)));
  }
  EXPECT_GT(loaded, 0);
}

TEST(ICalendar, ARedFlagLeavesNothingToPutIntoACalendar) {
  const plan::Plan plan = test_support::red_flag_plan();
  EXPECT_TRUE(retest_calendar(plan).events.empty());
  EXPECT_TRUE(session_calendar(plan).events.empty());
}

}  // namespace
}  // namespace lintel::formats
