// Move on, hold, go back, or refer: one decision for each drill, with its reason in one line.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "body/athlete.h"
#include "plan/history.h"

namespace lintel::plan {

enum class Decision : std::uint8_t { MoveOn, Hold, GoBack, Refer };
std::string_view decision_name(Decision decision);   // "move_on", ...
std::string_view decision_label(Decision decision);  // "move on", ...

// The rule that decided. Decision, sentence and source of each are a row of
// data/plan/progression.csv; the rows' order is the order in which the rules are tried.
enum class Rule : std::uint8_t {
  WarningSignAtIntake,  // red flag, or a loaded drill or step with any sign (plan.h, triage)
  ClinicianStopSign,
  StoppedElsewhere,  // another drill brought up a sign for a clinician
  SeverePain,
  PainAgain,        // above the limit twice in the last few sessions
  PainAtFirstStep,  // one of the next three, and no easier step
  PainAboveLimit,
  PainNotSettled,  // twice in the last few sessions
  PainRising,      // from week to week
  TestWorse,       // by more than the detectable change
  LostBar,
  PositionLostAgain,  // heels or low back, twice in the last few sessions
  LongBreak,
  TooMuchUndone,  // twice in the last few sessions
  EffortTooHigh,  // twice in the last few sessions
  NothingLogged,
  PainNotSettledOnce,
  NotRecorded,  // pain or effort: without them nothing moves on
  PositionLostOnce,
  ShortBreak,
  NotAllDone,
  EffortNearLimit,
  NotWorking,  // the re-tests say so: change the drill instead
  TargetReached,
  TooFewSessions,
  LastStep,
  NextStepLoaded,  // and a warning sign bars loads
  GoodSessions,
};
inline constexpr int kRuleCount = 28;
std::string_view rule_name(Rule rule);  // "pain_above_limit", ...: stable code

struct RuleRow {
  Rule rule = Rule::NothingLogged;
  Decision decision = Decision::Hold;
  std::string why;     // beginning of the reason, for people
  std::string source;  // or "common practice, no source"
};
// data/plan/progression.csv, in the order of trying.
const std::vector<RuleRow>& progression_rules();

// What the plan asks for, of one drill today.
struct Rung {
  std::string name;
  int good_sessions = 3;        // in a row, to move on
  double effort_at_most = 7.0;  // 0 to 10, to move on
  bool loaded = false;          // more than a pipe in the hands
};
struct DrillAsked {
  std::string drill;
  std::string name;          // for people
  std::vector<Rung> ladder;  // at least one
  bool loaded = false;       // one of its steps is: any warning sign bars all of it, as in the plan
  int step = 0;              // where the athlete works now; in the ladder
  int sets = 0;
  int repetitions = 0;              // in each set, 0 = a hold only
  double hold = 0;                  // of one repetition, or of the set without them [s]
  std::vector<Date> lighter_weeks;  // first days of the weeks with fewer sets
  double lighter_share = 0.5;       // of the sets, in those
  std::vector<std::string> tests;   // protocols that watch what it trains; may be empty
};

// What the re-tests say about the part that the drill works on.
struct TestNews {
  bool worse = false;           // by more than the detectable change, on one side at least
  bool target_reached = false;  // on every side
  bool not_working = false;     // forecast.h
};

struct DrillDecision {
  std::string drill;
  Decision decision = Decision::Hold;
  Rule rule = Rule::NothingLogged;
  int step = 0;        // now
  int next_step = 0;   // from now on; equal to step for hold and refer
  std::string reason;  // one line, with the numbers that decided
};

// The first rule that applies decides. Pain and stop signs up to the latest release by a clinician
// do not count; nothing after `today` counts. A rule that says "go back" on the first step for
// another reason than pain holds instead. Numbers: data/plan/progression_numbers.csv. Pure: no
// clock.
DrillDecision decide(const DrillAsked& asked, const History& history,
                     const std::vector<body::WarningSign>& warning_signs,
                     const std::optional<TestNews>& news, Date today);

// Share of the asked dose that was done, 1 = all of it or more.
double share_done(const DrillAsked& asked, const DatedDrill& entry);

// A session of this drill with everything as it should be: the dose done, effort and pain recorded
// and within limits, no stop sign, on its step or a harder one.
bool is_good(const DrillAsked& asked, const DatedDrill& entry, Date today);

namespace detail {
// Errors: Invalid with the line for a row without source, an unknown or missing rule or decision.
Result<std::vector<RuleRow>> parse_progression(std::string_view csv, std::string_view name);
}  // namespace detail

}  // namespace lintel::plan
