// Which drills, how much of each: the most expected degrees for the minutes there are. An exact
// optimum of a small integer program by branch and bound (Land and Doig 1960), deterministic.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/result.h"
#include "plan/drill.h"

namespace lintel::plan {

// One part of the lean that may be worked on, as findings or the posture model give it.
struct TargetPart {
  reasoning::Factor part = reasoning::Factor::Ankle;
  Estimate size;             // lean that it explains [rad], >= 0, with its standard deviation
  double probability = 1.0;  // that it is real and trainable, [0, 1]
  // Lean gained per gain of range [rad/rad]; for Habit and levers, whose gain is lean itself, 1.
  double lean_per_gain = 1.0;
  std::string finding;              // id of the finding it came from; may be empty
  std::optional<double> range_now;  // of the joint [rad], for the goals; not used by the search
};

// A change of setup that the findings recommend: tried before any mobility work.
struct SetupChange {
  reasoning::Factor lever = reasoning::Factor::Grip;  // Stance, ToeOut, Heel, Grip
  double from = 0.0, to = 0.0;                        // [m, rad]
  Estimate lean_gain;                                 // positive = more upright [rad]
  std::string text;                                   // one sentence for people
};

// How this athlete answered so far, against the library's expectation: forecast.h gives it.
struct Response {
  reasoning::Factor part = reasoning::Factor::Ankle;
  Estimate multiplier{1.0, 0.0};  // of the gain per week
};

// What is known at intake of what the athlete has done already.
struct PassedStep {
  std::string drill;
  int step = -1;  // highest step that was passed; -1 = none: start at step 0
};

struct PlannerInput {
  std::vector<TargetPart> targets;
  std::vector<SetupChange> setup_changes;
  std::vector<Response> responses;
  std::vector<PassedStep> passed;
  std::vector<body::WarningSign> warning_signs;
  EquipmentSet equipment;
  double time_per_session = 900.0;  // [s], 300 to 7200
  int sessions_per_week = 5;        // 1 to 7
  int weeks = 8;                    // 1 to 52
  int most_drills = 6;              // in the whole plan; common practice, no source
};
// Errors: Invalid with field ("planner.weeks", "planner.targets[0].probability") and range.
Result<void> validate(const PlannerInput& input);

// One drill that was chosen.
struct Choice {
  std::size_t drill = 0;  // in the library
  std::size_t level = 0;  // in drill.doses
  int step = 0;           // of the ladder, to start with
  std::vector<int>
      sessions;        // 0-based, of the week, ascending; doses[level].times_per_week of them
  std::string reason;  // one sentence
};

// A drill that was not considered, and why: shown on request.
enum class LeftOut : std::uint8_t {
  NoTarget,  // trains no part of the lean that was found
  Equipment,
  WarningSign,  // contraindicated, or loaded at any warning sign
  Prerequisite,
  TooLong,     // no dose fits into a session or the days
  NotWorthIt,  // eligible, but others buy more
};
std::string_view left_out_name(LeftOut reason);
struct Rejected {
  std::size_t drill = 0;
  LeftOut reason = LeftOut::NoTarget;
};

struct ExpectedPart {
  reasoning::Factor part = reasoning::Factor::Ankle;
  double range_gain = 0.0;        // of the joint, by the end of the plan [rad]
  double range_gain_error = 0.0;  // between people [rad]
  double lean_gain = 0.0;         // expected reduction of lean, probability included [rad]
};

struct Selection {
  std::vector<Choice> choices;  // setup adaptation first, then by expected gain per minute
  std::vector<Rejected> rejected;
  std::vector<ExpectedPart> expected;
  double lean_gain = 0.0;   // expected, all targets [rad]
  double setup_gain = 0.0;  // expected, recommended setup changes with a drill to learn them [rad]
  double objective = 0.0;   // what was maximised: kSetupWeight * setup_gain + lean_gain
  std::int64_t nodes = 0;   // of the search
  bool proved = true;       // false: the node limit ended the search, the best so far is given
  std::vector<std::string> notes;  // "static stretching needs five days a week and was left out"
};
// Setup is tried before mobility: a degree there counts this many times in the search.
inline constexpr double kSetupWeight = 1000.0;

// Expected reduction of lean from a gain x of a part with an uncertain size Y >= 0:
// probability * E[min(x, Y)], Y normal cut off at 0. Concave, increasing, at most the size.
double expected_reduction(double gain, const Estimate& size, double probability);

// Gain over the plan at a dose: gain.per_week times the share of the reference time (at most 1: no
// more is promised than the trials gave) times the weeks that count (a deload week counts half,
// weeks beyond gain.weeks not at all). [rad of range, or of lean for Habit and levers]
// Share of the reference time that a dose is, at most 1.
double dose_share(const Gain& gain, Mode mode, const Dose& dose);
double planned_gain(const Gain& gain, Mode mode, const Dose& dose, int weeks);

// Maximises the objective over dose levels. Several drills for one part count in full up to what
// the best of the library gives alone, then less and less (data/plan/rules.csv,
// further_drills.share). Constraints: every session holds its minutes (exact packing), a drill at
// most once a session, equipment, warning signs, prerequisites, at most most_drills, the dose rules
// of data/plan/rules.csv: static stretching >= 5 min a week on >= 5 days (Thomas et al. 2018) and
// at most 10 min a week for one part (Ingram et al. 2024). Equal objectives: fewer minutes a week,
// then the earlier drill of the library. No drill for a red flag (plan.h, triage). Errors: those of
// validate().
Result<Selection> choose_drills(std::span<const Drill> library, const PlannerInput& input);

}  // namespace lintel::plan
