// A plan for some weeks: goals, sessions, drills with dose and step, re-tests, stop rules,
// referral.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "body/measurement_error.h"
#include "plan/drill.h"
#include "plan/planner.h"
#include "plan/seated_hold.h"

namespace lintel::plan {

// ---- Warning signs -------------------------------------------------------------------------

// What a warning sign at intake allows, the strictest of all signs counts.
enum class Clearance : std::uint8_t {
  Full,          // no sign
  UnloadedOnly,  // drills without load; loaded ones are left out everywhere
  NoDrills,      // red flag: nothing is prescribed, see somebody first
};
std::string_view clearance_name(Clearance clearance);  // "full", "unloaded_only", "no_drills"

// data/plan/warning_signs.csv, one for every body::WarningSign.
struct WarningRule {
  body::WarningSign sign = body::WarningSign::Pain;
  Clearance clearance = Clearance::NoDrills;
  bool urgent = false;  // today, not some day
  std::string label;    // "fever"
  std::string whom;     // whom to see
  std::string advice;   // one sentence
  std::string source;   // or "common practice, no source"
};
const std::vector<WarningRule>& warning_rules();  // in the order of body::WarningSign

struct Triage {
  Clearance clearance = Clearance::Full;
  bool urgent = false;
  std::vector<WarningRule> referrals;  // of the signs present, the strictest first
};
Triage triage(std::span<const body::WarningSign> signs);
// "No drills are given. Fever: see a doctor today. ..." Empty at Full.
std::string referral_text(const Triage& triage);

// ---- The plan ------------------------------------------------------------------------------

struct Goal {
  std::string code;     // "trunk_inclination", or the part: "ankle", ...
  std::string measure;  // "trunk inclination at the bottom", "ankle range"
  double from = 0.0;    // [rad]
  double target = 0.0;  // [rad]
  Date date;
  double probability = 0.0;  // that it is reached by then, [0, 1]
  std::string basis;         // one sentence: where gain and spread come from
};

struct PlannedDrill {
  std::string id;
  std::string name;
  reasoning::Factor part = reasoning::Factor::Ankle;  // what it is there for
  Dose dose;
  int step = 0;  // of the ladder
  std::string step_name;
  std::string step_how;
  std::string move_on;
  bool loaded = false;
  std::string reason;
  std::vector<std::string> cues;
  std::vector<std::string> cautions;
  std::string source;
};

struct SessionItem {
  std::size_t drill = 0;  // in Plan::drills
  int sets = 1;           // of this week: fewer in a deload week
  double time = 0.0;      // [s]
};
struct PlannedSession {
  int day = 0;  // of the week, 0 = the day of the start
  std::vector<SessionItem> items;
  double time = 0.0;  // [s], at most Plan::time_per_session
};
struct PlannedWeek {
  int number = 1;
  Date start;
  bool deload = false;
  std::vector<PlannedSession> sessions;
};

struct PlannedRetest {
  std::string test;   // code of the test or "clip": film the squat again
  std::string label;  // for people
  Date date;
  int trials = 3;           // averaged
  bool detectable = false;  // the expected gain exceeds the detectable change by then
  bool is_length = false;   // the two below are [m], else [rad]
  double expected_gain = 0.0;
  double detectable_change = 0.0;
  std::string reason;
};

struct Plan {
  std::string athlete_id;
  std::string athlete_name;
  Date from;
  int weeks = 8;
  int sessions_per_week = 5;
  double time_per_session = 900.0;  // [s]
  EquipmentSet equipment;
  std::vector<body::WarningSign> warning_signs;
  Clearance clearance = Clearance::Full;
  std::string referral;  // empty at Full
  std::vector<SetupChange> setup_changes;
  std::vector<Goal> goals;
  std::vector<PlannedDrill> drills;
  std::vector<PlannedWeek> schedule;
  std::vector<PlannedRetest> retests;
  std::vector<std::string> stop_rules;
  std::vector<std::string> notes;
  std::optional<SeatedHoldPlan> seated_hold;  // with the drill "seated-half-unloaded-hold" only
  Date last_day() const { return from + 7 * weeks - 1; }
};

// A test that watches one part: from the protocol library, by the caller.
struct FollowedTest {
  std::string protocol;  // id
  std::string label;     // for people
  reasoning::Factor part = reasoning::Factor::Ankle;
  body::MeasurementError error;  // [rad, m]
  bool is_length = false;        // measured in [m]
  double per_gain = 1.0;         // change of the test per gain of range [rad/rad, m/rad]
};

// What the plan needs beside the planner's input.
struct PlanInput {
  std::string athlete_id, athlete_name;
  Date from;
  PlannerInput planner;
  std::optional<Estimate> trunk_inclination;  // now, at the bottom [rad]: the main goal
  std::optional<double> goal_inclination;     // wanted [rad]; empty: what is to be expected
  std::optional<SeatedHoldPlan> seated_hold;
  std::vector<FollowedTest> tests;  // re-tests are planned for those whose part is trained
  // Film again: error of the lean between two clips, session and repetition [rad].
  body::MeasurementError clip_error;
  std::uint64_t seed = 1;  // of the goals' probabilities
};

// Chooses drills, lays them out with a deload every fourth week (common practice, no source), sets
// goals with probabilities (Monte Carlo over size of part, gain between people, response). At a red
// flag the plan holds the referral and no drill. Errors: those of choose_drills.
Result<Plan> make_plan(std::span<const Drill> library, const PlanInput& input);

// Every fault of a plan that a file may hold: session over its minutes, drill that is not there,
// loaded drill in spite of a warning sign, ... with fields. Empty = good.
std::vector<Error> find_faults(const Plan& plan);

bool is_deload_week(int number);  // 1-based

}  // namespace lintel::plan
