// Loads for overhead work, relative to the athlete's own best lifts. Ordinary practice, and so
// marked; never with a warning sign; never heavier than the athlete has lifted.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "body/athlete.h"
#include "plan/history.h"

namespace lintel::plan {

// Best lifts of late [kg]; empty = not known.
struct BestLifts {
  std::array<std::optional<double>, kLiftCount> best;
  std::optional<double>& operator[](Lift lift) { return best[static_cast<std::size_t>(lift)]; }
  const std::optional<double>& operator[](Lift lift) const {
    return best[static_cast<std::size_t>(lift)];
  }
};
// The latest entry of each lift up to `today`.
BestLifts best_lifts_of(const History& history, Date today);

// How far the athlete has come with the changed position.
enum class LoadStage : std::uint8_t { Pipe, EmptyBar, Light, Moderate, Full };
std::string_view load_stage_name(LoadStage stage);   // "empty_bar", ...
std::string_view load_stage_label(LoadStage stage);  // "empty bar", ...

struct LoadQuestion {
  BestLifts best;
  std::vector<body::WarningSign> warning_signs;
  bool stopped = false;        // a sign for a clinician in the log, and no release since
  bool position_held = false;  // without a load, in the last sessions
  bool pain = false;           // more than little, in the last sessions
  int good_weeks = 0;          // loaded weeks in a row in which every session was good
  double bar_mass = 20.0;      // of the bar at hand [kg]
  int first_week = 1;          // number of the coming week in the plan, for the lighter weeks
  int plan_weeks = 0;          // of the whole plan; 0 = there is none
};

struct LoadWeek {
  int week = 1;  // from now
  LoadStage stage = LoadStage::Pipe;
  double mass = 0.0;            // at most, bar and discs [kg]; 0 = pipe
  std::optional<double> share;  // of the reference, as the stage allows
  int sets = 0;
  int repetitions = 0;
  bool deload = false;                          // fewer sets
  std::optional<int> plan_week = std::nullopt;  // its number in the plan, while that lasts
};

struct LoadAdvice {
  bool allowed = false;           // false: nothing with a load
  std::string why;                // one sentence
  std::optional<Lift> reference;  // the lift that the loads are taken from
  double reference_mass = 0.0;    // what an overhead squat is taken to be worth [kg]
  std::vector<LoadWeek> weeks;    // empty if not allowed
  std::string source;             // "common practice, no source"
  std::string note = {};          // why there are fewer weeks than the plan has left; or empty
};

// Weeks of a plan that are still to come, at most 12; nothing without a plan or after its end.
std::optional<int> weeks_left(const LoadQuestion& question);

// The coming `weeks` (clamped to 1..12), with numbers of data/plan/loads.csv. One stage a week at
// most and none in a lighter week, each only if the week before was good; the bar waits until it is
// light enough for this athlete; loads are rounded down. A best lift that is not above 0 counts as
// not known.
LoadAdvice advise_loads(const LoadQuestion& question, int weeks);

}  // namespace lintel::plan
