// One drill of the library: what it trains, with what, how much, how it gets harder, when not.
// SI and radians. Files: data/drills/*.json, read by formats/drill_json.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/sketch.h"
#include "base/units.h"
#include "body/athlete.h"
#include "reasoning/factors.h"

namespace lintel::plan {

// What an athlete may have at hand; floor and a wall are always there. Closed list.
enum class Equipment : std::uint8_t {
  Pipe,   // plastic pipe or broom stick
  Bar,    // empty barbell
  Discs,  // light discs for it
  Box,    // or step; a height that can be changed is best
  Ball,   // large exercise ball
  Chair,
  Bench,
  Roller,  // foam roller or rolled towel
  Band,    // elastic band
  PullUpBar,
  Wedge,       // or a lifting shoe, a small disc under the heel
  Scale,       // bathroom scale
  Kettlebell,  // or a dumbbell
  Rack,        // squat stands
};
inline constexpr int kEquipmentCount = 14;
std::string_view equipment_name(Equipment equipment);   // "pull_up_bar": stable code
std::string_view equipment_label(Equipment equipment);  // "pull-up bar": for people
std::optional<Equipment> find_equipment(std::string_view name);

// A set of equipment as bits.
class EquipmentSet {
 public:
  constexpr EquipmentSet() = default;
  void add(Equipment e) { bits_ |= bit(e); }
  bool has(Equipment e) const { return (bits_ & bit(e)) != 0; }
  bool has_any_of(EquipmentSet other) const { return (bits_ & other.bits_) != 0; }
  bool empty() const { return bits_ == 0; }
  std::vector<Equipment> list() const;
  bool operator==(const EquipmentSet&) const = default;

 private:
  static constexpr std::uint32_t bit(Equipment e) { return 1u << static_cast<unsigned>(e); }
  std::uint32_t bits_ = 0;
};

// How a drill works on the body; the dose rules of data/plan/rules.csv differ by it.
enum class Mode : std::uint8_t {
  StaticStretch,  // >= 5 min a week on >= 5 days; no gain beyond 10 min a week (see planner.h)
  Mobilisation,   // joint moved through its range, rolling, contract-relax
  LoadedRange,    // strength at long range: isometric holds, full-range work
  Skill,          // movement practice: habit, grip, stance, tempo
};
inline constexpr int kModeCount = 4;
std::string_view mode_name(Mode mode);   // "static_stretch"
std::string_view mode_label(Mode mode);  // "static stretch"

// One amount that can be prescribed. Exactly one of repetitions and hold may be zero, not both.
struct Dose {
  int sets = 1;
  int repetitions = 0;            // of one set and side; 0 = a hold only
  double hold = 0.0;              // of one repetition, or of the set without repetitions [s]
  int times_per_week = 3;         // 1 to 7
  double time_per_session = 0.0;  // both sides, with rests and setting up [s]
  double time_per_week() const { return times_per_week * time_per_session; }
  // Time that one side is held in a week: what published stretching doses count [s].
  double hold_per_week() const {
    return times_per_week * sets * (repetitions > 0 ? repetitions : 1) * hold;
  }
};
// "3 x 8, hold 2 s, 3 days a week, 4 min"
std::string dose_text(const Dose& dose);

// Expected gain of one part, at the reference dose, between-people spread, where it comes from.
// Ranges: gain of the joint's or muscle's range. Habit and setup levers: lean itself.
struct Gain {
  double per_week = 0.0;            // [rad/week] at reference_time a week
  double standard_deviation = 0.0;  // of per_week, between people [rad/week]
  double reference_time = 0.0;      // a week that gave it; static stretch: hold of one side [s]
  double weeks = 6.0;               // length of the trials: no gain is promised beyond
  std::string source;               // or "common practice, no source"
  bool has_source = false;          // false: common practice; the spread is wide
};

struct Target {
  reasoning::Factor part = reasoning::Factor::Ankle;
  Gain gain;
};

// One rung of the ladder. The easiest comes first.
struct LadderStep {
  std::string name;             // "surface at knee height"
  std::string how;              // one or two sentences
  std::string easier;           // what to change when this is too hard
  std::string harder;           // what to change when it is too easy, before the next step
  std::string move_on;          // criterion in words
  int good_sessions = 3;        // in a row that meet it: the same criterion as numbers
  double effort_at_most = 7.0;  // rated 0 to 10, of the hardest set
  bool loaded = false;          // more than a pipe in the hands
};

struct Prerequisite {
  std::string drill;  // id
  int step = 0;       // this step of it must have been passed, from 0
};

struct Drill {
  std::string id;  // lower case, digits, hyphens: "seated-half-unloaded-hold"
  std::string name;
  std::string purpose;          // one sentence
  std::vector<Target> targets;  // first = the main one
  Mode mode = Mode::Skill;
  std::string position;             // how to set up
  std::vector<std::string> steps;   // how to do it, in order
  std::vector<std::string> cues;    // few words each, ours
  std::vector<EquipmentSet> needs;  // of every set at least one thing
  std::vector<Dose> doses;          // the smallest first; time per week grows
  std::vector<LadderStep> ladder;   // at least one
  std::vector<Prerequisite> prerequisites;
  bool loaded = false;  // any step loaded, or the drill itself: left out at every warning sign
  std::vector<std::string> cautions;        // its own, beside base/cautions.h
  std::vector<body::WarningSign> not_with;  // left out at these even where drills are allowed
  std::string dose_source;                  // of the doses
  std::string source;  // of the drill: a citation or "common practice, no source"
  Sketch drawing;
  bool built_in = true;   // false: the workplace's own
  bool archived = false;  // own one that no new plan takes; what was done with it stays readable
};

bool fits_equipment(const Drill& drill, EquipmentSet have);
// Every fault with its field ("doses[1].sets"): what a reader cannot see by kinds of values alone.
std::vector<Error> find_faults(const Drill& drill);
// Faults across drills: an id twice, prerequisites that name no drill or step, or go in a circle.
std::vector<Error> find_faults(std::span<const Drill> library);
const Drill* find_drill(std::span<const Drill> library, std::string_view id);
// Those that a new plan may take: without the archived ones.
std::vector<Drill> drills_in_use(std::span<const Drill> library);

}  // namespace lintel::plan
