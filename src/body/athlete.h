// One athlete: size, setup under the bar, mobility tests, warning signs. SI and radians.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/units.h"
#include "body/segments.h"

namespace lintel::body {

enum class BarPosition : std::uint8_t { Overhead, Back, Front, None };
std::string_view bar_position_name(BarPosition position);  // "overhead", ...

// How the athlete stands and holds the bar: the levers that can be changed on the spot.
struct Setup {
  double stance_width = 0.34;            // between the ankle centres [m]
  double toe_out = 0.3490658504;         // long axis of each foot outwards [rad]; 20 deg
  double heel_elevation = 0.0;           // heel above forefoot, wedge or shoe [m]
  double grip_width = 0.90;              // between the index knuckles [m]
  double bar_mass = 20.0;                // bar, collars and discs [kg]
  double disc_diameter = 0.45;           // [m]
  std::optional<double> surface_height;  // box or ball to sit on, above the floor [m]
  double seat_share = 0.0;               // share of the whole weight on the surface, [0, 0.95]
  double depth = 0.02;  // hip centre below knee centre [m]; not used with a surface
  double center_of_pressure_target = 0.0;  // ahead of mid-foot [m]
  BarPosition bar_position = BarPosition::Overhead;
};

enum class Side : std::uint8_t { Left, Right };

// Mobility tests; angles in radians, KneeToWall in metres.
enum class MobilityTest : std::uint8_t {
  AnkleDorsiflexion,  // weight-bearing lunge, shank from vertical, heel down
  KneeToWall,         // big toe to wall when the knee just touches, heel down [m]
  KneeFlexion,
  HipFlexion,
  HipExternalRotation,
  HipAbduction,
  LumbarFlexion,       // used at the bottom under control, from neutral
  ThoracicRotation,    // sitting on the heels, each way
  ThoracicExtension,   // from neutral
  ShoulderFlexion,     // arm against trunk, pi = in line
  ArmToWallTurnedIn,   // wall test, hands turned so that the latissimus is slack: short of the
                       // wall by this angle, negative if it goes beyond; gives shoulder range
  ArmToWallTurnedOut,  // the same, hands turned so that the latissimus is long
  HipInternalRotation,
};
inline constexpr int kMobilityTestCount = 13;
std::string_view mobility_test_name(MobilityTest test);  // "ankle_dorsiflexion", ...
std::string mobility_range_key(MobilityTest test);       // its row of range_table()

// Left and right; a standard error of 0 means "take the default of the test".
// Tests without a side may use either slot.
using SidedEstimate = std::array<std::optional<Estimate>, 2>;

struct MobilityTests {
  std::array<SidedEstimate, kMobilityTestCount> results;

  const SidedEstimate& operator[](MobilityTest t) const {
    return results[static_cast<std::size_t>(t)];
  }
  SidedEstimate& operator[](MobilityTest t) { return results[static_cast<std::size_t>(t)]; }
};

enum class WarningSign : std::uint8_t {
  Pain,
  Numbness,
  Dizziness,
  ShoulderInstability,
  RecentSurgery,
  RecentFracture,
  NerveRootSigns,
  UncontrolledBloodPressure,
  Pregnancy,
  Fever,
  BladderOrBowelChange,
};
std::string_view warning_sign_name(WarningSign sign);  // "pain", ...

using MeasuredLengths = std::array<std::optional<Estimate>, kSegmentCount>;

struct Athlete {
  std::string id;
  std::string name;
  Sex sex = Sex::Female;
  double stature = 0.0;    // [m], 0 = not entered
  double body_mass = 0.0;  // [kg], 0 = not entered
  MeasuredLengths measured_lengths;
  Setup setup;
  MobilityTests tests;
  std::vector<WarningSign> warning_signs;
};

// Every fault of the input, each with its field ("setup.grip_width", "tests.knee_to_wall.left"),
// the value found and the allowed range. Empty = good.
std::vector<Error> find_faults(const Athlete& athlete);
std::vector<Error> find_faults(const Setup& setup, double inter_shoulder);

// The first fault, or nothing.
Result<void> validate(const Athlete& athlete);

}  // namespace lintel::body
