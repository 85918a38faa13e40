#include "app/plan_text.h"

#include <cmath>

#include "app/text_blocks.h"
#include "base/text.h"

namespace lintel::app {
namespace {

using plan::Plan;

double degrees(double radians) {
  return radians * kDegreesPerRadian;
}

std::string day_name(Date date) {
  static constexpr const char* kDays[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
  return kDays[static_cast<std::size_t>(date.weekday())];
}

std::string head(const Plan& plan) {
  const std::string who = plan.athlete_name.empty() ? plan.athlete_id : plan.athlete_name;
  return text("Plan for %s, %s to %s: %d weeks, %d sessions a week of at most %g minutes\n",
              who.c_str(), plan.from.iso().c_str(), plan.last_day().iso().c_str(), plan.weeks,
              plan.sessions_per_week, plan.time_per_session / 60.0);
}

std::string lines_of(const std::string& words) {
  std::string out;
  for (std::size_t begin = 0; begin <= words.size();) {
    const std::size_t end = std::min(words.find('\n', begin), words.size());
    out += wrapped(words.substr(begin, end - begin), "  ", "    ");
    begin = end + 1;
  }
  return out;
}

std::string goals_text(const Plan& plan) {
  std::string out = "\nGoals\n";
  for (const plan::Goal& goal : plan.goals) {
    const bool gain = goal.from == 0.0;
    out += wrapped(
        (gain ? text("%s: %.1f degrees", goal.measure.c_str(), degrees(goal.target))
              : text("%s: %.1f degrees (now %.1f)", goal.measure.c_str(), degrees(goal.target),
                     degrees(goal.from))) +
            text(" by %s, probability %.0f %%.", goal.date.iso().c_str(), 100.0 * goal.probability),
        "  - ", "    ");
    out += wrapped(goal.basis, "    ", "    ");
  }
  return out;
}

std::string drill_text(const plan::PlannedDrill& drill, std::size_t number) {
  std::string out = text("  %zu. ", number) + drill.name + "  (" + drill.id + ")\n";
  out += wrapped(plan::dose_text(drill.dose), "     Dose: ", "       ");
  out += wrapped(drill.step_name + ". " + drill.step_how, text("     Step %d: ", drill.step + 1),
                 "       ");
  out += wrapped(drill.move_on, "     Move on: ", "       ");
  std::string cues;
  for (const std::string& cue : drill.cues) cues += (cues.empty() ? "" : " / ") + cue;
  out += wrapped(cues, "     Cues: ", "       ");
  out += wrapped(drill.reason, "     Why: ", "       ");
  for (const std::string& caution : drill.cautions) {
    out += wrapped(caution, "     ! ", "       ");
  }
  return out;
}

std::string week_text(const Plan& plan) {
  std::string out;
  if (plan.schedule.empty()) return out;
  out += "\nWeek\n";
  for (const plan::PlannedSession& session : plan.schedule.front().sessions) {
    std::string names;
    for (const plan::SessionItem& item : session.items) {
      names += (names.empty() ? "" : ", ") + plan.drills[item.drill].name;
    }
    out += wrapped(
        names,
        text("  %s %4.1f min  ", day_name(plan.schedule.front().start + session.day).c_str(),
             session.time / 60.0),
        "                ");
  }
  std::string lighter;
  for (const plan::PlannedWeek& week : plan.schedule) {
    if (!week.deload) continue;
    lighter +=
        (lighter.empty() ? "" : ", ") + text("%d (from %s)", week.number, week.start.iso().c_str());
  }
  if (!lighter.empty()) out += wrapped("week " + lighter, "  Lighter, half of the sets: ", "    ");
  return out;
}

std::string seated_text(const plan::SeatedHoldPlan& hold) {
  const plan::SeatedHold& now = hold.now;
  std::string out = "\nSeated hold, from your own model\n";
  out += wrapped(
      text("Surface %.0f cm high: leave %.0f kg on it; a scale under both feet then reads "
           "%.0f kg (of %.0f kg in all). Trunk there at its most upright %.0f degrees, to be "
           "expected once you have risen %.0f.",
           now.surface_height * 100.0, now.on_surface, now.on_feet, now.total_weight,
           degrees(now.trunk_inclination), degrees(now.lifted_inclination)),
      "  ", "    ");
  out += wrapped(text("One leg gives about %.0f N m at the knee and %.0f N m at the hip; %.0f and "
                      "%.0f once you have risen.",
                      now.moments.knee_extension, now.moments.hip_extension,
                      now.lifted.knee_extension, now.lifted.hip_extension),
                 "  ", "    ");
  std::string ladder;
  for (const plan::SurfaceRung& rung : hold.ladder) {
    ladder += (ladder.empty() ? "" : ", ") +
              text("week %d: %.0f cm", rung.week, rung.surface_height * 100.0);
  }
  out += wrapped(ladder, "  Heights: ", "    ");
  for (const std::string& note : hold.notes) out += wrapped(note, "  ", "    ");
  return out;
}

std::string retests_text(const Plan& plan) {
  std::string out = "\nTest again\n";
  for (const plan::PlannedRetest& retest : plan.retests) {
    out += wrapped(text("%s: %s, mean of %d.", retest.date.iso().c_str(), retest.label.c_str(),
                        retest.trials) +
                       " " + retest.reason,
                   "  - ", "    ");
  }
  return out;
}

std::string list_text(const char* title, const std::vector<std::string>& lines) {
  if (lines.empty()) return {};
  std::string out = std::string("\n") + title + "\n";
  for (const std::string& line : lines) out += wrapped(line, "  - ", "    ");
  return out;
}

}  // namespace

std::string plan_to_text(const Plan& plan) {
  std::string out = head(plan);
  if (!plan.referral.empty()) out += "\nWarning signs\n" + lines_of(plan.referral);
  if (!plan.setup_changes.empty()) {
    out += "\nFirst, change the setup\n";
    for (const plan::SetupChange& change : plan.setup_changes) {
      out += wrapped(change.text + text(" Some %s more upright (give or take %.1f).",
                                        degrees_in_words(degrees(change.lean_gain.value)).c_str(),
                                        degrees(change.lean_gain.standard_error)),
                     "  - ", "    ");
    }
  }
  if (!plan.goals.empty()) out += goals_text(plan);
  if (!plan.drills.empty()) {
    out += "\nDrills\n";
    for (std::size_t i = 0; i < plan.drills.size(); ++i) out += drill_text(plan.drills[i], i + 1);
  }
  out += week_text(plan);
  if (plan.seated_hold) out += seated_text(*plan.seated_hold);
  if (!plan.retests.empty()) out += retests_text(plan);
  out += list_text("Stop", plan.stop_rules);
  out += list_text("Notes", plan.notes);
  return out + cautions_block();
}

}  // namespace lintel::app
