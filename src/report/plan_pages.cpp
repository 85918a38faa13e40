#include "report/plan_pages.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "base/cautions.h"
#include "base/text.h"
#include "report/page_parts.h"
#include "report/text_safety.h"

namespace lintel::report {
namespace {

constexpr double kSecondsPerMinute = 60;

std::string weekday_name(Date date) {
  static constexpr std::array<const char*, 7> kNames = {
      "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"};
  return kNames[static_cast<std::size_t>(date.weekday())];
}

// "3x8, hold 2 s, 5/week": every byte makes the square code larger.
std::string compact_dose(const plan::Dose& dose) {
  std::string text = std::to_string(dose.sets);
  if (dose.repetitions > 0) text += "x" + std::to_string(dose.repetitions);
  if (dose.hold > 0) {
    text += (dose.repetitions > 0 ? ", hold " : "x") + fixed_text(dose.hold, 0) + " s";
  }
  return text + ", " + std::to_string(dose.times_per_week) + "/week";
}

// The lines that a plan's text is made of, the most needed first.
std::vector<std::string> plan_lines(const view::Visit& visit) {
  const plan::Plan& plan = *visit.plan;
  std::vector<std::string> lines;
  lines.push_back("PLAN " + (plan.athlete_name.empty() ? plan.athlete_id : plan.athlete_name) +
                  ", from " + plan.from.iso() + ", " + std::to_string(plan.weeks) + " weeks");
  const std::string referral = referral_of(visit);
  if (!referral.empty()) lines.push_back(referral);
  lines.push_back(cautions_brief());
  const auto drills = shown_drills(visit);
  for (const ShownDrill& shown : drills) {
    const plan::PlannedDrill& d = *shown.planned;
    lines.push_back(std::to_string(shown.number) + " " + d.name + ": " + compact_dose(d.dose) +
                    (d.step_name.empty() ? "" : "; " + d.step_name));
  }
  if (!drills.empty() && !plan.schedule.empty()) {
    std::string days;
    for (const plan::PlannedSession& session : plan.schedule.front().sessions) {
      std::string numbers;
      for (const plan::SessionItem& item : session.items) {
        for (const ShownDrill& shown : drills) {
          if (shown.index == item.drill) numbers += " " + std::to_string(shown.number);
        }
      }
      if (!numbers.empty()) {
        days += (days.empty() ? "" : "; ") + weekday_short(plan.from + session.day) + numbers;
      }
    }
    if (!days.empty()) lines.push_back("Days: " + days);
    std::string easy;
    for (const plan::PlannedWeek& week : plan.schedule) {
      if (week.deload) easy += (easy.empty() ? "" : ", ") + std::to_string(week.number);
    }
    if (!easy.empty()) lines.push_back("Easy weeks: " + easy);
  }
  for (const plan::PlannedRetest& retest : plan.retests) {
    lines.push_back("Test again " + retest.date.iso() + ": " + retest.label);
  }
  return lines;
}

std::string scaled_text(double value, const Estimate* estimate, double factor, const char* unit) {
  const double error = estimate == nullptr ? 0 : estimate->standard_error * factor;
  const bool fine = estimate != nullptr && error > 0 && error < 1;
  const int decimals = fine ? 1 : std::abs(value * factor) < 20 && estimate == nullptr ? 1 : 0;
  std::string text = fixed_text(value * factor, decimals);
  if (error > 0) text += " ± " + fixed_text(error, decimals);
  return text + " " + unit;
}

}  // namespace

plan::Triage triage_of(const view::Visit& visit) {
  std::vector<body::WarningSign> signs;
  if (visit.athlete != nullptr) signs = visit.athlete->warning_signs;
  if (visit.plan != nullptr) {
    for (const body::WarningSign sign : visit.plan->warning_signs) {
      if (std::find(signs.begin(), signs.end(), sign) == signs.end()) signs.push_back(sign);
    }
  }
  plan::Triage triage = plan::triage(signs);
  if (visit.plan != nullptr) triage.clearance = std::max(triage.clearance, visit.plan->clearance);
  return triage;
}

std::string referral_of(const view::Visit& visit) {
  const plan::Triage triage = triage_of(visit);
  if (triage.clearance == plan::Clearance::Full) return {};
  if (visit.plan != nullptr && !visit.plan->referral.empty()) return visit.plan->referral;
  const std::string text = plan::referral_text(triage);
  if (!text.empty()) return text;
  return "A warning sign was named at intake: nothing with a load until a licensed clinician has "
         "cleared it.";
}

bool may_be_loaded(const view::Visit& visit) {
  return triage_of(visit).clearance == plan::Clearance::Full;
}

std::vector<ShownDrill> shown_drills(const view::Visit& visit) {
  std::vector<ShownDrill> shown;
  const plan::Clearance clearance = triage_of(visit).clearance;
  if (visit.plan == nullptr || clearance == plan::Clearance::NoDrills) return shown;
  for (std::size_t i = 0; i < visit.plan->drills.size(); ++i) {
    const plan::PlannedDrill& planned = visit.plan->drills[i];
    const plan::Drill* drill = plan::find_drill(visit.library, planned.id);
    const bool loaded = planned.loaded || (drill != nullptr && drill->loaded);
    if (loaded && clearance != plan::Clearance::Full) continue;
    shown.push_back({static_cast<int>(shown.size()) + 1, i, &planned, drill});
  }
  return shown;
}

std::string weekday_short(Date date) {
  return weekday_name(date).substr(0, 3);
}
std::string weekday_long(Date date) {
  return weekday_name(date);
}
std::string date_words(Date date) {
  return long_date(date.iso());
}
std::string day_and_month(Date date) {
  const std::string words = date_words(date);
  return words.substr(0, words.rfind(' '));
}

std::string short_date(Date date) {
  const std::string words = date_words(date);
  const std::size_t month = words.find(' ') + 1;
  return words.substr(0, month + 3) + words.substr(words.rfind(' '));
}

std::string minutes_text(double seconds) {
  return fixed_text(std::max(std::round(seconds / kSecondsPerMinute), seconds > 0 ? 1.0 : 0.0), 0) +
         " min";
}

std::string chance_text(double probability) {
  if (!std::isfinite(probability)) return "chance not known";
  if (probability < 0.05) return "less than 1 in 20";
  if (probability > 0.95) return "more than 19 in 20";
  const int tenths = std::clamp(static_cast<int>(std::lround(probability * 10)), 1, 9);
  return "about " + std::to_string(tenths) + " in 10";
}

std::string result_text(const Estimate& value, body::ProtocolUnit unit, UnitSystem units) {
  if (!std::isfinite(value.value)) return "not measured";
  switch (unit) {
    case body::ProtocolUnit::Degrees:
      return degrees_text(value);
    case body::ProtocolUnit::Centimetres:
      return length_text(value, units);
    case body::ProtocolUnit::Seconds:
      return scaled_text(value.value, &value, 1, "s");
  }
  return {};
}

std::string value_text(double value, body::ProtocolUnit unit, UnitSystem units) {
  switch (unit) {
    case body::ProtocolUnit::Degrees:
      return fixed_text(value * kDegreesPerRadian, 0) + "°";
    case body::ProtocolUnit::Centimetres:
      return units == UnitSystem::Metric ? fixed_text(value * 100, 1) + " cm"
                                         : fixed_text(value / kMetresPerInch, 1) + " in";
    case body::ProtocolUnit::Seconds:
      return fixed_text(value, 0) + " s";
  }
  return {};
}

std::string dose_words_of(const plan::Dose& dose) {
  std::string text = plan::dose_text(dose);
  const std::size_t times = text.find(" x ");
  if (times != std::string::npos) text.replace(times, 3, " × ");
  return text;
}

std::string load_text(const plan::LoadWeek& week, UnitSystem units) {
  return week.mass > 0 ? mass_text(week.mass, units) : "pipe";
}

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
  }
  return text;
}

std::string capitalised(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
}

std::string typeset(std::string_view text) {
  const auto is_letter = [](char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; };
  const auto is_digit = [](char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; };
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const std::string_view rest = text.substr(i);
    const char before = i > 0 ? text[i - 1] : ' ';
    if (rest.starts_with("+/-")) {
      out += "±";
      i += 2;
    } else if (rest.starts_with(" deg") && is_digit(before) &&
               (rest.size() == 4 || !is_letter(rest[4]))) {
      out += "°";
      i += 3;
    } else if (rest[0] == '-' && !is_letter(before) && !is_digit(before) && rest.size() > 1 &&
               is_digit(rest[1])) {
      out += "−";
    } else {
      out += rest[0];
    }
  }
  return out;
}

std::string plan_text(const view::Visit& visit, std::size_t longest) {
  if (visit.plan == nullptr) return {};
  static constexpr std::string_view kMore = "More on the paper.";
  std::string text;
  for (const std::string& raw : plan_lines(visit)) {
    const std::string line = printable_text(raw, LineFeeds::ToSpaces);
    if (text.size() + line.size() + 1 + kMore.size() > longest) return text + std::string(kMore);
    text += line + "\n";
  }
  if (!text.empty()) text.pop_back();
  return text;
}

}  // namespace lintel::report
