// What each change would buy, alone, in pairs and triples, and the best setup of all.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "reasoning/best_setup.h"
#include "reasoning/factors.h"

namespace lintel::reasoning {

enum class Lever : std::uint8_t {
  Stance,
  ToeOut,
  Heel,
  Grip,  // the setup levers, as Factor
  BarMass,
  Depth,    // stop higher
  Surface,  // sit on a surface at the height of the bottom, with part of the weight on it
  AnkleRange,
  HipRange,
  ThoraxRange,
  ShoulderRange,
  LatissimusRange,  // mobility gained
};
inline constexpr int kLeverCount = 12;
std::string_view lever_name(Lever lever);   // "heel", "ankle_range": stable code
std::string_view lever_label(Lever lever);  // "heel height": for people

struct Change {
  Lever lever = Lever::Stance;
  double from = 0.0;  // [m, rad, kg]; mobility: the present edge
  double to = 0.0;
};

enum class Cost : std::uint8_t {
  BarLeavesHipCrease,  // grip off the width that puts the bar there in the snatch
  OutOfCompetitionStance,
  LessDepth,  // not the depth that the lift asks for
  LessLoad,
  RaisedHeel,  // a habit of shoes: the ankle is not trained
  NotAtOnce,   // range is gained over weeks
  MoreShoulderDemand,
};
std::string_view cost_name(Cost cost);
std::string_view cost_sentence(Cost cost);

struct WhatIf {
  std::vector<Change> changes;           // one to three
  double trunk_inclination = 0.0;        // most upright, afterwards, at equal strain [rad]
  double trunk_inclination_error = 0.0;  // standard error of that; explain() fills it
  double trunk_change = 0.0;           // at equal strain (Evaluated::lean), negative = more upright
  double trunk_change_error = 0.0;     // of the same athlete before and after; explain() fills it
  double shoulder_change = 0.0;        // of the elevation demanded, negative = easier
  std::optional<double> depth_gained;  // of the deepest possible posture [m]; not for depth, seat
  bool possible = true;                // within the plain limits afterwards
  std::vector<Cost> costs;
};

struct WhatIfTable {
  double trunk_inclination = 0.0;                // most upright today, Shares::most_upright [rad]
  double trunk_inclination_error = 0.0;          // standard error of that; explain() fills it
  double shoulder_elevation = 0.0;               // demanded [rad]
  std::optional<double> deepest;                 // deepest possible, hip below knee [m]
  std::vector<WhatIf> single;                    // one for each lever that applies: its best value
  std::optional<WhatIf> best_pair, best_triple;  // setup levers, none if they buy nothing more
  WhatIf best_setup;  // continuous search over stance, toe-out, heel, grip
};

struct WhatIfInput {
  posture::BodyParameters body;
  body::Setup today;
  posture::Limits limits;
  AllowedSetup allowed;
  double hip_crease_grip = 0.0;  // grip.h [m]
  double most_upright = 0.0;     // today, Shares::most_upright [rad]: where the rows start from
};
// Most upright posture before and after under today's limits (evaluate_most_upright); depth by
// solve_deepest under the plain limits. Pairs and triples over a grid of
// data/reasoning/defaults.csv (what_if.*) within the allowed ranges; a change that buys less than
// it costs (best_setup.change_cost) does not enter. About 800 solves. Errors: those of
// Model::create.
Result<WhatIfTable> compute_what_if(const WhatIfInput& input);

// One combination of changes, as a row. For callers with own values.
Result<WhatIf> evaluate_changes(const WhatIfInput& input, const std::vector<Change>& changes);
// The same from what is known of today already (evaluate_most_upright), without depth_gained: one
// solve instead of four, for a slider.
Result<WhatIf> evaluate_changes(const WhatIfInput& input, const Evaluated& now,
                                const std::vector<Change>& changes);

// The posture after the changes, for any body and limits.
Result<Evaluated> evaluate_changed(const posture::BodyParameters& body, const body::Setup& today,
                                   const posture::Limits& limits,
                                   const std::vector<Change>& changes,
                                   const posture::WarmStart* warm);

// The setup after the changes that concern it.
body::Setup changed_setup(const body::Setup& today, const std::vector<Change>& changes);
// The limits after the changes that concern them.
posture::Limits changed_limits(const posture::Limits& limits, const std::vector<Change>& changes);
// The setup lever or mobility factor behind a lever; Habit for bar mass, depth and surface.
Factor factor_of(Lever lever);

}  // namespace lintel::reasoning
