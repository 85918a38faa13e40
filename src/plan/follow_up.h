// One athlete's follow-up: change of every test, forecast, decision for every drill, and who needs
// looking at.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "base/units.h"
#include "body/measurement_error.h"
#include "body/test_protocol.h"
#include "plan/forecast.h"
#include "plan/history.h"
#include "plan/progression.h"
#include "plan/retest.h"

namespace lintel::plan {

// A test that the plan follows. Numbers in the unit of the test (SI).
struct TestFollowed {
  std::string protocol;
  std::string name;  // for people
  body::ProtocolUnit unit = body::ProtocolUnit::Degrees;
  body::Better better = body::Better::Higher;
  body::MeasurementError error;
  std::optional<double> target;
  std::optional<Date> goal_date;
  std::optional<PublishedGain> published;  // of the drills that work on it
  std::optional<Date> retest_due;          // as planned; else by retest.h from the latest test
};

struct AthleteFollowed {
  std::vector<DrillAsked> drills;  // steps as planned; the log's latest entry moves them
  std::vector<TestFollowed> tests;
  std::vector<body::WarningSign> warning_signs;
  std::optional<double> sessions_per_week;  // asked for
  std::optional<Date> plan_start;
  int plan_weeks = 0;
};

enum class ChangeVerdict : std::uint8_t {
  OneSession,
  Improved,
  NoDetectableChange,
  Worse,
  Changed,  // of a test without better and worse
};
std::string_view change_verdict_name(ChangeVerdict verdict);  // "one_session", ...

// First against latest session of one test and side.
struct TestChange {
  std::string protocol;
  body::TestSide side = body::TestSide::Both;
  Date first, latest;
  Estimate first_mean, latest_mean;  // of the tries, with the standard error of that mean
  int first_tries = 0, latest_tries = 0;
  double change = 0.0;             // latest minus first
  double detectable_change = 0.0;  // 95 %, of these two means
  ChangeVerdict verdict = ChangeVerdict::OneSession;
};

// A change of exactly the detectable change is not detectable.
ChangeVerdict judge_change(double change, double detectable_change, body::Better better);

struct TestForecast {
  std::string protocol;
  body::TestSide side = body::TestSide::Both;
  int sessions = 0;                           // that went in
  Estimate now;                               // the true value today, not what a test would read
  Estimate gain;                              // a week, in the direction that is better
  Interval gain_interval;                     // 95 %
  std::optional<double> probability_at_goal;  // that the target is reached on the goal date
  std::optional<Date> likely, nearly_sure;    // reached with 50 % and with 90 %
  bool reached = false;                       // today, with at least 50 %
  double useful_gain = 0.0;                   // a week, the least that counts as working
  double probability_useful = 0.0;            // that the gain exceeds it
  Working working = Working::TooEarly;
  std::optional<Estimate> response;  // against the published gain; plan::Response of the planner
};

enum class Watch : std::uint8_t {
  RetestDue,
  RetestOverdue,
  Stalled,      // the same step for weeks although trained
  NotWorking,   // the re-tests
  NotTraining,  // sessions missed
  ReadyToLoad,  // again
  SeeAClinician,
};
std::string_view watch_name(Watch watch);  // "retest_due", ...

struct WatchItem {
  Watch watch = Watch::RetestDue;
  std::string about;  // drill or protocol id, empty = the athlete
  body::TestSide side = body::TestSide::Both;
  std::optional<Date> date;
  std::string text;  // one line
};

struct FollowUp {
  Date today;
  std::vector<TestChange> changes;
  std::vector<TestForecast> forecasts;
  std::vector<DrillDecision> decisions;  // one for each drill, same order
  std::vector<WatchItem> watch;
};

// How well the latest sessions of loaded work went, for load_guidance.h: weeks of seven days back
// from `today` in a row that had a session, all of them clean (no stop sign, little pain, effort
// within the ladder's limit).
int good_loaded_weeks(const AthleteFollowed& followed, const History& history, Date today);
// The last few sessions (ready.sessions of data/plan/progression_numbers.csv) had no stop sign.
bool position_holds(const History& history, Date today);
// More than little pain (ready.pain) in one of those sessions.
bool has_pain(const History& history, Date today);
// A sign for a clinician, or severe pain, after the latest release.
bool is_stopped(const History& history, Date today);

// Pure. Nothing after `today` counts. Errors: those of posterior_gain (bad numbers in `followed`).
Result<FollowUp> follow_up(const AthleteFollowed& followed, const History& history, Date today);

}  // namespace lintel::plan
