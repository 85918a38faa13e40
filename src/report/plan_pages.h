// What the pages that show a plan have in common: which drills may be named, words for numbers, the
// plan as compact text for the square code.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "body/test_protocol.h"
#include "plan/plan.h"
#include "report/numbers.h"
#include "view/visit.h"

namespace lintel::report {

// A planned drill that may be shown, with its number on the page and its entry in the library.
struct ShownDrill {
  int number = 1;
  std::size_t index = 0;  // in Plan::drills
  const plan::PlannedDrill* planned = nullptr;
  const plan::Drill* drill = nullptr;  // null: not in this library; no drawing then
};
// The strictest of what the plan says itself and of the warning signs of plan and athlete: pages
// trust none of the three alone.
plan::Triage triage_of(const view::Visit& visit);
// The plan's own words, or those for triage_of() when it has none; empty when all is clear.
std::string referral_of(const view::Visit& visit);
// None without a plan or at a red flag; none with a load when there is any warning sign, whatever
// the plan holds.
std::vector<ShownDrill> shown_drills(const view::Visit& visit);
bool may_be_loaded(const view::Visit& visit);

// "Mon", of the day of the plan's week.
std::string weekday_short(Date date);
std::string weekday_long(Date date);
std::string date_words(Date date);         // "20 January 2027"
std::string day_and_month(Date date);      // "20 January"
std::string short_date(Date date);         // "20 Jan 2027"
std::string minutes_text(double seconds);  // "4 min"
// "about 7 in 10"; "less than 1 in 20" and "more than 19 in 20" at the ends.
std::string chance_text(double probability);
// In the protocol's unit: "12.3 ± 1.1 cm", "34° ± 2°", "31 ± 4 s"; inches with imperial units.
std::string result_text(const Estimate& value, body::ProtocolUnit unit, UnitSystem units);
std::string value_text(double value, body::ProtocolUnit unit, UnitSystem units);
// plan::dose_text with a true multiplication sign: "3 × 8, hold 2 s, 3 days a week, 4 min".
std::string dose_words_of(const plan::Dose& dose);
// "20 kg", or "pipe" for none.
std::string load_text(const plan::LoadWeek& week, UnitSystem units);
// Lists of days "1, 4 and 8".
std::string listed(const std::vector<std::string>& words);
std::string capitalised(std::string text);
// Plain-text marks as they are printed: "+/-" as "±", "12 deg" as "12°", "-3" as "−3".
std::string typeset(std::string_view text);

// The plan in a few lines for people, plain text without any address: who, drills with dose and
// step, days, easy weeks, re-tests, when to stop, cautions in short. At most `longest` bytes: what
// does not fit is left out from the end backwards, and the text says that the paper has more. Empty
// without a plan.
std::string plan_text(const view::Visit& visit, std::size_t longest);

}  // namespace lintel::report
