#include "app/progress_text.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include "app/text_blocks.h"
#include "base/text.h"
#include "plan/progression_numbers.h"

namespace lintel::app {
namespace {

using formats::ProgressDocument;
using plan::TestChange;
using plan::TestFollowed;
using plan::TestForecast;

struct Unit {
  std::string name;
  double per_si = 1.0;
  std::string value(double si) const { return text("%.1f %s", tenths(si), name.c_str()); }
  std::string change(double si) const { return text("%+.1f %s", tenths(si), name.c_str()); }
  double tenths(double si) const { return std::round(10.0 * si * per_si) / 10.0 + 0.0; }
};

Unit unit_of(const TestFollowed& test) {
  return {std::string(body::protocol_unit_name(test.unit)), 1.0 / body::si_per_unit(test.unit)};
}

std::string side_words(body::TestSide side) {
  return side == body::TestSide::Both ? "" : ", " + std::string(body::test_side_name(side));
}

std::string verdict_words(const TestChange& change, const Unit& unit) {
  const std::string error = unit.value(change.detectable_change);
  switch (change.verdict) {
    case plan::ChangeVerdict::OneSession:
      return "tested once";
    case plan::ChangeVerdict::Improved:
      return "better; more than the " + error + " that error explains";
    case plan::ChangeVerdict::Worse:
      return "worse; more than the " + error + " that error explains";
    case plan::ChangeVerdict::Changed:
      return "changed; more than the " + error + " that error explains";
    case plan::ChangeVerdict::NoDetectableChange:
      return "no detectable change; error explains up to " + error;
  }
  return {};
}

std::string change_line(const TestChange& change, const TestFollowed& test) {
  const Unit unit = unit_of(test);
  std::string words = test.name + side_words(change.side) + ": " +
                      unit.value(change.first_mean.value) + " on " + change.first.iso();
  if (change.verdict != plan::ChangeVerdict::OneSession) {
    words += ", " + unit.value(change.latest_mean.value) + " on " + change.latest.iso() + ", " +
             unit.change(change.change);
  }
  return wrapped(words + ": " + verdict_words(change, unit) + ".", "  ", "      ");
}

std::string target_words(const TestForecast& f, const TestFollowed& test, const Unit& unit) {
  if (!test.target) return {};
  std::string words = "; target " + unit.value(*test.target);
  if (f.reached) return words + " is reached";
  words += f.likely ? ": even odds by " + f.likely->iso()
                    : text(": not within %g weeks",
                           plan::progression_numbers().value("forecast.longest_weeks"));
  if (f.nearly_sure) words += ", 90 % by " + f.nearly_sure->iso();
  if (f.probability_at_goal && test.goal_date) {
    words += text(", %.0f %% on ", 100 * *f.probability_at_goal) + test.goal_date->iso();
  }
  return words;
}

std::string working_words(const TestForecast& f) {
  switch (f.working) {
    case plan::Working::TooEarly:
      return "";
    case plan::Working::Yes:
      return " It works.";
    case plan::Working::Open:
      return " Whether it works is open.";
    case plan::Working::No:
      return text(" It does not work: a useful gain has a probability of %.0f %%.",
                  100 * f.probability_useful);
  }
  return "";
}

std::string forecast_line(const TestForecast& f, const TestFollowed& test) {
  if (f.sessions < 2) return {};
  const Unit unit = unit_of(test);
  const auto per_week = [&unit](double si) { return text("%.2f", si * unit.per_si); };
  return wrapped("gain a week " + per_week(f.gain.value) + " " + unit.name + " (95 % " +
                     per_week(f.gain_interval.low) + " to " + per_week(f.gain_interval.high) + ")" +
                     target_words(f, test, unit) + "." + working_words(f),
                 "      ", "      ");
}

std::string tests_block(const ProgressDocument& document) {
  std::string out;
  for (const TestChange& change : document.follow.changes) {
    const auto& tests = document.followed.tests;
    const auto test = std::find_if(tests.begin(), tests.end(), [&](const TestFollowed& t) {
      return t.protocol == change.protocol;
    });
    if (test == tests.end()) continue;
    out += change_line(change, *test);
    for (const TestForecast& forecast : document.follow.forecasts) {
      if (forecast.protocol == change.protocol && forecast.side == change.side) {
        out += forecast_line(forecast, *test);
      }
    }
  }
  return out.empty() ? "  No test is logged yet.\n" : out;
}

std::string drills_block(const ProgressDocument& document) {
  std::string out;
  for (std::size_t i = 0; i < document.follow.decisions.size(); ++i) {
    const plan::DrillDecision& d = document.follow.decisions[i];
    const plan::DrillAsked& asked = document.followed.drills[i];
    std::string decision(plan::decision_label(d.decision));
    std::transform(decision.begin(), decision.end(), decision.begin(),
                   [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
    std::string words = asked.name;
    if (d.decision != plan::Decision::Refer) {
      words += text(", step %d: ", d.next_step + 1) +
               asked.ladder[static_cast<std::size_t>(d.next_step)].name;
    }
    out += wrapped(words, "  " + text("%-9s", decision.c_str()), std::string(12, ' '));
    out += wrapped(d.reason, std::string(11, ' '), std::string(12, ' '));
  }
  return out.empty() ? "  No drill is planned or logged.\n" : out;
}

std::string watch_block(const ProgressDocument& document) {
  std::string out;
  for (const plan::WatchItem& item : document.follow.watch) {
    std::string about;
    for (const TestFollowed& test : document.followed.tests) {
      if (item.watch == plan::Watch::NotWorking && test.protocol == item.about) {
        about = test.name + side_words(item.side) + ": ";
      }
    }
    out += wrapped(about + item.text, "  - ", "    ");
  }
  return out;
}

std::string loads_block(const plan::LoadAdvice& loads) {
  std::string out = wrapped(loads.why, "  ", "  ");
  const bool any = std::any_of(loads.weeks.begin(), loads.weeks.end(),
                               [](const plan::LoadWeek& week) { return week.mass > 0; });
  for (const plan::LoadWeek& week : loads.weeks) {
    if (!any) break;  // the sentence has said it
    const std::string load = week.mass > 0 ? text("at most %g kg", week.mass) : "";
    out += text("  week %-2d  %-9s  %-15s  %d x %d%s\n", week.plan_week.value_or(week.week),
                std::string(plan::load_stage_label(week.stage)).c_str(), load.c_str(), week.sets,
                week.repetitions, week.deload ? "  (lighter week)" : "");
  }
  if (any && !loads.note.empty()) out += wrapped(loads.note, "  ", "  ");
  return out + "  (" + loads.source + ")\n";
}

}  // namespace

std::string progress_text(const ProgressDocument& document) {
  const std::string name =
      document.athlete_name.empty() ? document.athlete_id : document.athlete_name;
  std::string out = name + ", " + document.follow.today.iso() + "\n";
  const std::string watch = watch_block(document);
  if (!watch.empty()) out += "\nTo look at\n" + watch;
  out += "\nTests\n" + tests_block(document);
  out += "\nDrills from now on\n" + drills_block(document);
  out += "\nOverhead squats with a load\n" + loads_block(document.loads);
  return out + cautions_block();
}

}  // namespace lintel::app
