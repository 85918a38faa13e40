#include "plan/follow_up.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "plan/plan.h"
#include "plan/progression_numbers.h"
#include "plan/test_follow_up.h"

namespace lintel::plan {
namespace {

double number(std::string_view key) {
  return progression_numbers().value(key);
}

int whole(std::string_view key) {
  return static_cast<int>(number(key));
}

bool is_serious(const DrillDone& done) {
  return (done.stop_sign && is_for_a_clinician(*done.stop_sign)) ||
         worst_pain(done) >= number("pain.severe");
}

bool is_clean(const DrillDone& done) {
  return !done.stop_sign && worst_pain(done) <= number("ready.pain");
}

// The last few sessions (ready.sessions) in which something was done.
std::vector<const Session*> last_sessions(const History& history, Date today) {
  std::vector<const Session*> sessions;
  for (const Session& s : history.sessions) {
    if (s.date <= today && !s.drills.empty()) sessions.push_back(&s);
  }
  std::stable_sort(sessions.begin(), sessions.end(),
                   [](const auto* a, const auto* b) { return a->date < b->date; });
  const auto few = static_cast<std::size_t>(whole("ready.sessions"));
  if (sessions.size() > few)
    sessions.erase(sessions.begin(), sessions.end() - static_cast<long>(few));
  return sessions;
}

// Days on which something was trained, up to `today`, each once.
std::vector<Date> training_days(const History& history, Date after, Date today) {
  std::vector<Date> days;
  for (const Session& session : history.sessions) {
    if (session.drills.empty() || session.date <= after || session.date > today) continue;
    days.push_back(session.date);
  }
  std::sort(days.begin(), days.end());
  days.erase(std::unique(days.begin(), days.end()), days.end());
  return days;
}

// The drill at the step of the latest entry in the log.
DrillAsked as_it_stands(const DrillAsked& planned, const History& history, Date today) {
  DrillAsked asked = planned;
  const auto entries = entries_of(history, asked.drill, today);
  if (!entries.empty()) asked.step = entries.back().done->step;
  asked.step = std::clamp(asked.step, 0, static_cast<int>(asked.ladder.size()) - 1);
  return asked;
}

// What the changes and forecasts of its tests mean for one drill.
std::optional<TestNews> news_for(const DrillAsked& drill, const FollowUp& follow) {
  TestNews news;
  bool any = false;
  bool all_reached = true, all_failing = true;
  for (const std::string& protocol : drill.tests) {
    for (const TestChange& change : follow.changes) {
      if (change.protocol == protocol) news.worse |= change.verdict == ChangeVerdict::Worse;
    }
    for (const TestForecast& forecast : follow.forecasts) {
      if (forecast.protocol != protocol) continue;
      any = true;
      // One try that happened to lie high is no reason to stop: the target counts as reached after
      // a re-test only.
      all_reached &= forecast.reached && forecast.sessions > 1;
      all_failing &= forecast.working == Working::No;
    }
  }
  if (!any) return news.worse ? std::optional(news) : std::nullopt;
  news.target_reached = all_reached;
  news.not_working = all_failing;
  return news;
}

class Watcher {
 public:
  Watcher(const AthleteFollowed& followed, const History& history, FollowUp& out)
      : followed_(followed), history_(history), out_(out) {}

  void watch_all(const std::vector<DrillAsked>& drills) {
    watch_clinician();
    watch_training();
    watch_retests();
    watch_not_working();
    for (std::size_t i = 0; i < drills.size(); ++i) {
      watch_stalled(drills[i], out_.decisions[i].decision);
    }
    watch_ready(drills);
  }

 private:
  void add(Watch watch, std::string about, std::optional<Date> date, std::string line,
           body::TestSide side = body::TestSide::Both) {
    out_.watch.push_back({watch, std::move(about), side, date, std::move(line)});
  }

  void watch_clinician() {
    const Triage signs = triage(followed_.warning_signs);
    if (signs.clearance != Clearance::Full) {
      const WarningRule& first = signs.referrals.front();
      add(Watch::SeeAClinician, "", std::nullopt,
          "Warning sign on record: " + first.label + ". See " + first.whom + ".");
    }
    // Of the drills that only stop because of another one, the first is enough, and only where that
    // other one is not among them.
    bool told = false;
    for (const DrillDecision& decision : out_.decisions) {
      if (decision.decision != Decision::Refer || decision.rule == Rule::WarningSignAtIntake ||
          decision.rule == Rule::StoppedElsewhere) {
        continue;
      }
      add(Watch::SeeAClinician, decision.drill, std::nullopt, decision.reason);
      told = true;
    }
    for (const DrillDecision& decision : out_.decisions) {
      if (told || decision.rule != Rule::StoppedElsewhere) continue;
      add(Watch::SeeAClinician, "", std::nullopt, decision.reason);
      told = true;
    }
  }

  void watch_training() {
    if (!followed_.sessions_per_week || !followed_.plan_start) return;
    const int window = whole("training.window_days");
    if (out_.today - *followed_.plan_start < window) return;
    const double asked = *followed_.sessions_per_week * window / kDaysPerWeek;
    const auto done = training_days(history_, out_.today - window, out_.today).size();
    if (static_cast<double>(done) >= asked * number("training.least_share")) return;
    add(Watch::NotTraining, "", std::nullopt,
        text("%d of %.0f sessions in the last %d days: find out what is in the way, or plan fewer.",
             static_cast<int>(done), asked, window));
  }

  void watch_retests() {
    for (const TestFollowed& test : followed_.tests) {
      std::optional<Date> latest;
      for (const TestSession& session : history_.tests) {
        if (session.protocol != test.protocol || session.date > out_.today) continue;
        latest = std::max(latest.value_or(session.date), session.date);
      }
      if (!latest && !test.retest_due) continue;
      const Date due = next_retest(test, latest, followed_.plan_start.value_or(out_.today));
      if (due > out_.today + whole("retest.notice_days")) continue;
      const bool overdue = due < out_.today;
      add(overdue ? Watch::RetestOverdue : Watch::RetestDue, test.protocol, due,
          test.name + (overdue ? ": re-test was due on " : ": re-test due on ") + due.iso() + ".");
    }
  }

  void watch_not_working() {
    for (const TestForecast& f : out_.forecasts) {
      if (f.working != Working::No) continue;
      add(Watch::NotWorking, f.protocol, std::nullopt,
          text("The gain is useful with a probability of %.0f %% only: choose another drill, or "
               "look again for the cause.",
               100 * f.probability_useful),
          f.side);
    }
  }

  void watch_stalled(const DrillAsked& drill, Decision decision) {
    if (drill.step + 1 >= static_cast<int>(drill.ladder.size())) return;
    const auto entries = entries_of(history_, drill.drill, out_.today);
    const auto moved = std::find_if(entries.rbegin(), entries.rend(), [&](const DatedDrill& e) {
      return e.done->step != drill.step;
    });
    const auto on_step = moved - entries.rbegin();
    if (on_step < whole("stalled.sessions")) return;
    const Date since = entries[entries.size() - static_cast<std::size_t>(on_step)].date;
    const double weeks = weeks_between(since, entries.back().date);
    if (weeks < number("stalled.weeks")) return;
    add(Watch::Stalled, drill.drill, since,
        text("%s: on step %d for %.0f weeks and %d sessions%s.", drill.name.c_str(), drill.step + 1,
             weeks, static_cast<int>(on_step),
             decision == Decision::MoveOn ? ", though it may move on" : ""));
  }

  // Ready for load: nothing stands against it, and either a drill moves on to a loaded step, or the
  // sessions since a clinician's release were clean.
  void watch_ready(const std::vector<DrillAsked>& drills) {
    if (triage(followed_.warning_signs).clearance != Clearance::Full ||
        is_stopped(history_, out_.today)) {
      return;
    }
    for (std::size_t i = 0; i < drills.size(); ++i) {
      const DrillDecision& d = out_.decisions[i];
      if (d.decision != Decision::MoveOn) continue;
      const auto next = static_cast<std::size_t>(d.next_step);
      if (!drills[i].ladder[next].loaded || drills[i].ladder[next - 1].loaded) continue;
      add(Watch::ReadyToLoad, d.drill, std::nullopt,
          drills[i].name + ": the next step may be loaded.");
    }
    const auto release = last_release(history_, out_.today);
    if (!release || !stopped_before(*release)) return;
    int clean = 0;
    for (const Session& session : history_.sessions) {
      if (session.date <= *release || session.date > out_.today || session.drills.empty()) continue;
      const bool all = std::all_of(session.drills.begin(), session.drills.end(), is_clean);
      clean = all ? clean + 1 : 0;
    }
    if (clean < whole("ready.sessions")) return;
    add(Watch::ReadyToLoad, "", *release,
        text("%d clean sessions since the release of %s: loads may come back, a step below where "
             "they were.",
             clean, release->iso().c_str()));
  }

  bool stopped_before(Date release) const {
    return std::any_of(history_.sessions.begin(), history_.sessions.end(), [&](const Session& s) {
      return s.date <= release && std::any_of(s.drills.begin(), s.drills.end(), is_serious);
    });
  }

  const AthleteFollowed& followed_;
  const History& history_;
  FollowUp& out_;
};

}  // namespace

std::string_view change_verdict_name(ChangeVerdict verdict) {
  constexpr std::array<std::string_view, 5> kNames = {"one_session", "improved",
                                                      "no_detectable_change", "worse", "changed"};
  return kNames[static_cast<std::size_t>(verdict)];
}

std::string_view watch_name(Watch watch) {
  constexpr std::array<std::string_view, 7> kNames = {
      "retest_due",   "retest_overdue", "stalled",        "not_working",
      "not_training", "ready_to_load",  "see_a_clinician"};
  return kNames[static_cast<std::size_t>(watch)];
}

bool is_stopped(const History& history, Date today) {
  const auto release = last_release(history, today);
  return std::any_of(history.sessions.begin(), history.sessions.end(), [&](const Session& s) {
    if (s.date > today || (release && s.date <= *release)) return false;
    return std::any_of(s.drills.begin(), s.drills.end(), is_serious);
  });
}

bool position_holds(const History& history, Date today) {
  const auto sessions = last_sessions(history, today);
  if (sessions.size() < static_cast<std::size_t>(whole("ready.sessions"))) return false;
  return std::all_of(sessions.begin(), sessions.end(), [](const Session* s) {
    return std::none_of(s->drills.begin(), s->drills.end(),
                        [](const DrillDone& d) { return d.stop_sign.has_value(); });
  });
}

bool has_pain(const History& history, Date today) {
  const auto sessions = last_sessions(history, today);
  return std::any_of(sessions.begin(), sessions.end(), [](const Session* s) {
    return std::any_of(s->drills.begin(), s->drills.end(),
                       [](const DrillDone& d) { return worst_pain(d) > number("ready.pain"); });
  });
}

int good_loaded_weeks(const AthleteFollowed& followed, const History& history, Date today) {
  const auto is_fine = [&](const DrillDone& done) {
    const auto drill = std::find_if(followed.drills.begin(), followed.drills.end(),
                                    [&](const DrillAsked& d) { return d.drill == done.drill; });
    double limit = Rung{}.effort_at_most;
    if (drill != followed.drills.end()) {
      const int last = static_cast<int>(drill->ladder.size()) - 1;
      limit =
          drill->ladder[static_cast<std::size_t>(std::clamp(done.step, 0, last))].effort_at_most;
    }
    return is_clean(done) && done.effort.value_or(10.0) <= limit;
  };
  for (int week = 0;; ++week) {
    const Date end = today - 7 * week;
    bool loaded = false, fine = true;
    for (const Session& s : history.sessions) {
      if (s.date > end || s.date <= end - 7) continue;
      for (const DrillDone& done : s.drills) {
        if (!(done.load > 0)) continue;
        loaded = true;
        fine = fine && is_fine(done);
      }
    }
    if (!loaded || !fine) return week;
  }
}

Result<FollowUp> follow_up(const AthleteFollowed& followed, const History& as_given, Date today) {
  History history = as_given;
  sort_by_date(history);
  FollowUp out;
  out.today = today;
  for (const TestSeries& series : series_of(followed, history, today)) {
    out.changes.push_back(change_of(series));
    if (series.test->better == body::Better::Neither) continue;
    out.forecasts.push_back(LINTEL_TRY(forecast_of(series, today)));
  }
  std::vector<DrillAsked> drills;
  for (const DrillAsked& planned : followed.drills) {
    drills.push_back(as_it_stands(planned, history, today));
    out.decisions.push_back(decide(drills.back(), history, followed.warning_signs,
                                   news_for(drills.back(), out), today));
  }
  Watcher(followed, history, out).watch_all(drills);
  return out;
}

}  // namespace lintel::plan
