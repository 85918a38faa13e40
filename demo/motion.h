// The lifter's movement over time: standing, going down, a pause, coming up.
#pragma once

#include <vector>

#include "demo/posture.h"

namespace lintel::demo {

enum class Movement : std::uint8_t { Squat, ForwardBend, Stand };
enum class Outcome : std::uint8_t { Completed, Failed };

struct MotionSpec {
  Movement movement = Movement::Squat;
  int repetitions = 1;
  int failed_repetition = -1;  // 0-based; the clip ends at its bottom
  double lead_in = 0.5;        // standing before the first repetition [s]
  double descent = 1.25, pause = 0.30, ascent = 1.10, rest = 0.45;  // [s]
  double shank_top = 0.070, shank_bottom = 0.67;                    // [rad]
  double thigh_top = -0.010, thigh_bottom = 1.75;                   // [rad]
  double knee_lead = 0.75;         // how far the knees travel ahead of the hips, 0..1
  double trunk_bottom = 1.05;      // of a forward bend [rad]
  double balance_top = -0.030;     // centre of mass ahead of mid-foot, standing [m]
  double balance_bottom = -0.016;  // and at the bottom [m]
  double bar_offset = 0.0;         // bar ahead of mid-foot, standing [m]
  double bar_drift = 0.010;        // further ahead at the bottom [m]
  double give_way = 0.0;           // further ahead when the shoulders give way [m]
  double knee_in = 0.0;            // knees inside of the feet's line at the bottom [rad]
  double heel_lift = 0.0;          // foot inclination at the bottom [rad]
  double sway = 1.0;               // size of the natural sway, 0 = none
};

struct RepetitionTruth {
  double start = 0;         // the descent begins [s]
  double bottom_start = 0;  // the descent ends
  double bottom = 0;        // middle of the pause
  double bottom_end = 0;    // the ascent begins
  double end = 0;           // upright again, or the clip's end
  Outcome outcome = Outcome::Completed;
};

class Motion {
 public:
  Motion(const MotionSpec& spec, std::uint64_t seed);

  double duration() const { return knots_.back().time; }  // [s]
  const std::vector<RepetitionTruth>& repetitions() const { return repetitions_; }
  double depth(double time) const;     // share of the way down, 0..about 1
  double give_way(double time) const;  // [m]
  // The balanced skeleton at this time.
  Result<Skeleton> skeleton(const Lifter& lifter, const Setup& setup, double time) const;

 private:
  struct Knot {
    double time = 0;
    double depth = 0;
  };
  double wobble(double time, int channel) const;  // about -1..1, smooth

  MotionSpec spec_;
  std::vector<Knot> knots_;
  std::vector<RepetitionTruth> repetitions_;
  std::vector<double> phases_;
};

}  // namespace lintel::demo
