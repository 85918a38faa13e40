#include "app/log_today.h"

#include <algorithm>

#include "app/plan_edits.h"

namespace lintel::app {
namespace {

const plan::DrillDecision* decision_of(const plan::FollowUp& follow, const std::string& drill) {
  for (const plan::DrillDecision& decision : follow.decisions) {
    if (decision.drill == drill) return &decision;
  }
  return nullptr;
}

std::optional<plan::DrillDone> done_today(const plan::History& history, const std::string& drill,
                                          Date today) {
  for (const plan::Session& session : history.sessions) {
    if (session.date != today) continue;
    for (const plan::DrillDone& done : session.drills) {
      if (done.drill == drill) return done;
    }
  }
  return {};
}

// Where the athlete stands: what the log of the days before says, else as planned. What is written
// down today must not change what today asks for.
void move_to_step(const plan::DrillDecision* decision, const std::optional<plan::DrillDone>& done,
                  const plan::Drill& drill, plan::PlannedDrill& planned) {
  int step = planned.step;
  if (done) {
    step = done->step;
  } else if (decision != nullptr) {
    step = decision->next_step;
  }
  const int last = static_cast<int>(drill.ladder.size()) - 1;
  set_step(drill, std::clamp(step, 0, last), planned);
}

void add_items(const TodayInput& input, const plan::PlannedSession& session,
               const std::vector<plan::Drill>& library, formats::TodayPage& page) {
  for (const plan::SessionItem& item : session.items) {
    formats::TodayItem out;
    out.drill = input.plan->drills[item.drill];
    out.sets = item.sets;
    out.time = item.time;
    out.done = done_today(*input.history, out.drill.id, input.today);
    const plan::DrillDecision* decision = decision_of(*input.follow, out.drill.id);
    if (decision != nullptr && decision->decision == plan::Decision::Refer) {
      page.message += (page.message.empty() ? "" : " ") + out.drill.name + ": " + decision->reason;
      continue;
    }
    const plan::Drill* drill = plan::find_drill(library, out.drill.id);
    if (drill != nullptr) move_to_step(decision, out.done, *drill, out.drill);
    page.items.push_back(std::move(out));
  }
}

void add_session(const TodayInput& input, const std::vector<plan::Drill>& library,
                 formats::TodayPage& page) {
  for (const plan::PlannedWeek& week : input.plan->schedule) {
    const bool is_now = week.start <= input.today && input.today < week.start + 7;
    if (is_now) {
      page.week = week.number;
      page.deload = week.deload;
    }
    for (const plan::PlannedSession& session : week.sessions) {
      const Date day = week.start + session.day;
      if (day == input.today && !page.stopped) add_items(input, session, library, page);
      if (day > input.today && !page.next_session) page.next_session = day;
    }
  }
}

std::string message_of(const TodayInput& input, const formats::TodayPage& page) {
  if (page.clearance == plan::Clearance::NoDrills) return page.referral;
  if (page.stopped) {
    return "Your log has a sign that somebody should look at first. Train again when a clinician "
           "has said yes.";
  }
  if (input.plan == nullptr) return "There is no plan yet. Ask your practitioner for one.";
  if (input.today < input.plan->from) {
    return "Your plan begins on " + input.plan->from.iso() + ".";
  }
  if (input.today > input.plan->last_day()) {
    return "Your plan has ended. It is time for a re-test and a new plan.";
  }
  if (page.items.empty() && page.message.empty()) {
    return page.next_session
               ? "Rest today. The next session is on " + page.next_session->iso() + "."
               : "Rest today.";
  }
  return page.message;
}

}  // namespace

formats::TodayPage today_page(const TodayInput& input, const std::vector<plan::Drill>& library) {
  formats::TodayPage page;
  page.athlete_id = input.athlete_id;
  page.athlete_name = input.athlete_name;
  page.date = input.today;
  page.plan_id = input.plan_id;
  const plan::Triage triage = plan::triage(input.warning_signs);
  page.clearance = triage.clearance;
  page.referral = plan::referral_text(triage);
  page.stopped = plan::is_stopped(*input.history, input.today);
  page.sessions_done = static_cast<int>(
      std::count_if(input.history->sessions.begin(), input.history->sessions.end(),
                    [&](const plan::Session& s) { return s.date <= input.today; }));
  if (input.plan != nullptr) {
    page.stop_rules = input.plan->stop_rules;
    if (page.clearance == plan::Clearance::Full) {
      page.clearance = input.plan->clearance;
      page.referral = input.plan->referral;
    }
    add_session(input, library, page);
    for (const plan::PlannedRetest& retest : input.plan->retests) {
      if (retest.date < input.today || page.next_retest) continue;
      page.next_retest = retest;
    }
  }
  page.message = message_of(input, page);
  return page;
}

}  // namespace lintel::app
