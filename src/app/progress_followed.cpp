#include "app/progress_followed.h"

#include <algorithm>

#include "plan/rules.h"

namespace lintel::app {
namespace {

using body::MobilityTest;
using body::TestProtocol;
using plan::AthleteFollowed;
using plan::DrillAsked;
using plan::History;
using reasoning::Factor;

// The part of the lean that a test watches.
std::optional<Factor> part_of(MobilityTest test) {
  switch (test) {
    case MobilityTest::AnkleDorsiflexion:
    case MobilityTest::KneeToWall:
      return Factor::Ankle;
    case MobilityTest::HipFlexion:
    case MobilityTest::HipExternalRotation:
    case MobilityTest::HipInternalRotation:
    case MobilityTest::HipAbduction:
    case MobilityTest::LumbarFlexion:
      return Factor::Hip;
    case MobilityTest::ThoracicRotation:
    case MobilityTest::ThoracicExtension:
      return Factor::Thorax;
    case MobilityTest::ShoulderFlexion:
    case MobilityTest::ArmToWallTurnedIn:
      return Factor::Shoulder;
    case MobilityTest::ArmToWallTurnedOut:
      return Factor::Latissimus;
    case MobilityTest::KneeFlexion:
      return std::nullopt;
  }
  return std::nullopt;
}

std::optional<Factor> part_of(const TestProtocol& protocol) {
  return protocol.informs.test ? part_of(*protocol.informs.test) : std::nullopt;
}

bool trains(const plan::Drill& drill, Factor part) {
  return std::any_of(drill.targets.begin(), drill.targets.end(),
                     [part](const plan::Target& target) { return target.part == part; });
}

std::vector<plan::Rung> ladder_of(const plan::Drill& drill) {
  std::vector<plan::Rung> ladder;
  for (const plan::LadderStep& step : drill.ladder) {
    ladder.push_back({step.name, step.good_sessions, step.effort_at_most, step.loaded});
  }
  return ladder;
}

void add_dose(const plan::Dose& dose, DrillAsked& asked) {
  asked.sets = dose.sets;
  asked.repetitions = dose.repetitions;
  asked.hold = dose.hold;
}

void add_watching_tests(const plan::Drill& drill, const std::vector<TestProtocol>& protocols,
                        DrillAsked& asked) {
  for (const TestProtocol& protocol : protocols) {
    const auto part = part_of(protocol);
    if (part && trains(drill, *part)) asked.tests.push_back(protocol.id);
  }
}

void add_planned_drills(const FollowedSources& sources, AthleteFollowed& out) {
  for (const plan::PlannedDrill& planned : sources.plan->drills) {
    DrillAsked asked;
    asked.drill = planned.id;
    asked.name = planned.name;
    asked.step = planned.step;
    asked.loaded = planned.loaded;
    add_dose(planned.dose, asked);
    if (const plan::Drill* drill = plan::find_drill(*sources.drills, planned.id)) {
      asked.ladder = ladder_of(*drill);
      asked.loaded = asked.loaded || drill->loaded;
      add_watching_tests(*drill, *sources.protocols, asked);
    } else {
      // Not in this library: only the step that the plan speaks of is known.
      asked.ladder = {{planned.step_name, plan::Rung{}.good_sessions, plan::Rung{}.effort_at_most,
                       planned.loaded}};
      asked.step = 0;
    }
    for (const plan::PlannedWeek& week : sources.plan->schedule) {
      if (week.deload) asked.lighter_weeks.push_back(week.start);
    }
    asked.lighter_share = plan::plan_rules().value("deload.share");
    out.drills.push_back(std::move(asked));
  }
}

// Without a plan: what the log speaks of, in the order of the library.
void add_logged_drills(const FollowedSources& sources, const History& history,
                       AthleteFollowed& out) {
  for (const plan::Drill& drill : *sources.drills) {
    const bool logged = std::any_of(
        history.sessions.begin(), history.sessions.end(), [&drill](const plan::Session& session) {
          return std::any_of(session.drills.begin(), session.drills.end(),
                             [&drill](const plan::DrillDone& d) { return d.drill == drill.id; });
        });
    if (!logged) continue;
    DrillAsked asked;
    asked.drill = drill.id;
    asked.name = drill.name;
    asked.ladder = ladder_of(drill);
    asked.loaded = drill.loaded;
    add_dose(drill.doses.front(), asked);
    add_watching_tests(drill, *sources.protocols, asked);
    out.drills.push_back(std::move(asked));
  }
}

const plan::PlannedRetest* planned_retest(const FollowedSources& sources, const std::string& id) {
  if (!sources.plan) return nullptr;
  for (const plan::PlannedRetest& retest : sources.plan->retests) {
    if (retest.test == id) return &retest;
  }
  return nullptr;
}

// The plan's expectation by the day of the re-test. It grows no further than the published trials
// lasted, so the time it took is no longer than they were.
plan::PublishedGain published_gain(const FollowedSources& sources, const TestProtocol& protocol,
                                   const plan::PlannedRetest& retest) {
  double trial_weeks = 0.0;
  for (const plan::PlannedDrill& planned : sources.plan->drills) {
    const plan::Drill* drill = plan::find_drill(*sources.drills, planned.id);
    if (drill == nullptr) continue;
    for (const plan::Target& target : drill->targets) {
      if (target.part == part_of(protocol)) trial_weeks = std::max(trial_weeks, target.gain.weeks);
    }
  }
  plan::PublishedGain published;
  published.gain = retest.expected_gain;
  published.weeks = weeks_between(sources.plan->from, retest.date);
  if (trial_weeks > 0) published.weeks = std::min(published.weeks, trial_weeks);
  return published;
}

std::optional<double> target_of(const FollowedSources& sources, const TestProtocol& protocol) {
  if (!protocol.pass_line || protocol.better == body::Better::Neither) return std::nullopt;
  if (sources.athlete) {
    const auto line = body::pass_line_of(*protocol.pass_line, *sources.athlete, std::nullopt);
    return line ? std::optional(line->value) : std::nullopt;
  }
  if (protocol.pass_line->relative_to != body::PassReference::Absolute) return std::nullopt;
  return protocol.pass_line->value;
}

void add_tests(const FollowedSources& sources, const History& history, AthleteFollowed& out) {
  for (const TestProtocol& protocol : *sources.protocols) {
    const plan::PlannedRetest* retest = planned_retest(sources, protocol.id);
    const bool tested =
        std::any_of(history.tests.begin(), history.tests.end(),
                    [&](const plan::TestSession& t) { return t.protocol == protocol.id; });
    if (!tested && retest == nullptr) continue;
    plan::TestFollowed test;
    test.protocol = protocol.id;
    test.name = protocol.name;
    test.unit = protocol.unit;
    test.better = protocol.better;
    body::ProtocolError error = protocol.standard_error;
    for (const body::OwnError& own : history.standard_errors) {
      if (own.protocol == protocol.id) error = own.error;
    }
    test.error = body::measurement_error(error);
    test.target = target_of(sources, protocol);
    if (sources.plan) test.goal_date = sources.plan->last_day();
    if (retest != nullptr) {
      test.retest_due = retest->date;
      if (retest->expected_gain > 0 && retest->date > sources.plan->from) {
        test.published = published_gain(sources, protocol, *retest);
      }
    }
    out.tests.push_back(std::move(test));
  }
}

void add_sign(body::WarningSign sign, AthleteFollowed& out) {
  auto& signs = out.warning_signs;
  if (std::find(signs.begin(), signs.end(), sign) == signs.end()) signs.push_back(sign);
}

}  // namespace

AthleteFollowed followed_of(const FollowedSources& sources, const History& history) {
  AthleteFollowed out;
  if (sources.plan) {
    add_planned_drills(sources, out);
    out.sessions_per_week = sources.plan->sessions_per_week;
    out.plan_start = sources.plan->from;
    out.plan_weeks = sources.plan->weeks;
    for (const body::WarningSign sign : sources.plan->warning_signs) add_sign(sign, out);
  } else {
    add_logged_drills(sources, history, out);
  }
  if (sources.athlete) {
    for (const body::WarningSign sign : sources.athlete->warning_signs) add_sign(sign, out);
  }
  add_tests(sources, history, out);
  return out;
}

}  // namespace lintel::app
