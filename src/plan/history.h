// What an athlete did and how the tests came out: the log that follow-up reads.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "body/test_record.h"

namespace lintel::plan {

// Why a set was ended early. The first four are for a clinician, the rest are about the position.
enum class StopSign : std::uint8_t {
  SharpPain,  // sharp or radiating
  Numbness,
  Dizziness,
  ChestPain,
  LossOfBarControl,
  HeelLift,        // that a cue did not correct
  LumbarRounding,  // the same
};
inline constexpr int kStopSignCount = 7;
std::string_view stop_sign_name(StopSign sign);   // "sharp_pain", ...: stable code
std::string_view stop_sign_label(StopSign sign);  // "sharp or radiating pain": for people
bool is_for_a_clinician(StopSign sign);

// One drill of one session, as it was done.
struct DrillDone {
  std::string drill;                    // id in the drill library
  int step = 0;                         // rung of its ladder, 0 = the first (files count from 1)
  int sets = 0;                         // completed
  int repetitions = 0;                  // completed in each set, 0 = held for time
  double hold = 0.0;                    // of one repetition, or of the set without them [s]
  double load = 0.0;                    // mass of bar and discs [kg]
  std::optional<double> effort = {};    // 0 to 10, as the athlete felt it
  std::optional<int> pain_during = {};  // 0 to 10, the worst of it
  std::optional<int> pain_next_morning = {};  // 0 to 10
  std::optional<StopSign> stop_sign = {};
  std::string note = {};
};

// The larger of the two, 0 where neither was written down.
int worst_pain(const DrillDone& done);

struct Session {
  Date date;
  std::vector<DrillDone> drills;
};

// One test of one side on one day. The first one of a protocol and side is the starting point.
struct TestSession {
  Date date;
  std::string protocol;                                   // id of the protocol
  body::TestSide side = body::TestSide::Both;             // Both: a test without sides
  body::ProtocolUnit unit = body::ProtocolUnit::Degrees;  // in which it was written down
  std::vector<double> tries = {};                         // at least one [rad, m, s]
};

// A clinician has looked at what had stopped the athlete, and lets the work go on.
struct ClinicianRelease {
  Date date;
  std::string by;
  std::string note = {};
};

enum class Lift : std::uint8_t { OverheadSquat, Snatch, CleanAndJerk, BackSquat, FrontSquat };
inline constexpr int kLiftCount = 5;
std::string_view lift_name(Lift lift);   // "overhead_squat", ...
std::string_view lift_label(Lift lift);  // "overhead squat", ...

// A best lift of late.
struct BestLift {
  Date date;
  Lift lift = Lift::OverheadSquat;
  double mass = 0.0;  // bar and discs [kg]
};

// Everything in order of date.
struct History {
  std::string athlete;
  std::vector<Session> sessions;
  std::vector<TestSession> tests;
  std::vector<ClinicianRelease> releases;
  std::vector<BestLift> best_lifts;
  std::vector<body::OwnError> standard_errors;  // of this tester, in place of published ones
};

// Sorts by date; entries of one day stay in the order in which they were written.
void sort_by_date(History& history);

// One drill's entries in order of date, up to and including `last`.
struct DatedDrill {
  Date date;
  const DrillDone* done = nullptr;  // into the history
};
std::vector<DatedDrill> entries_of(const History& history, std::string_view drill, Date last);

// The latest release by a clinician up to `last`.
std::optional<Date> last_release(const History& history, Date last);

}  // namespace lintel::plan
