// A mobility test as data: what it is for, how it is done, how good it is, what it means.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/sketch.h"
#include "base/units.h"
#include "body/athlete.h"
#include "body/measurement_error.h"

namespace lintel::body {

// What a result is measured in. Inside core values are SI: radians, metres, seconds.
enum class ProtocolUnit : std::uint8_t { Degrees, Centimetres, Seconds };
std::string_view protocol_unit_name(ProtocolUnit unit);  // "deg", "cm", "s"
double si_per_unit(ProtocolUnit unit);

enum class Sides : std::uint8_t { Each, None };               // left and right, or the body as one
enum class Better : std::uint8_t { Higher, Lower, Neither };  // Neither: a setting, no achievement

enum class PassReference : std::uint8_t { Absolute, HandBreadth, Stature };

// The quick line between good enough and not. Higher tests pass at or above it, Lower at or below.
struct PassLine {
  PassReference relative_to = PassReference::Absolute;
  double value = 0.0;  // SI, or multiple of the athlete's own hand breadth or stature
  std::string label;   // "one hand's breadth"
  std::string source;
};

struct Norm {
  std::string population;  // who, how many, how it was measured
  double mean = 0.0;       // SI
  double standard_deviation = 0.0;
  std::string source;
};

// Published standard error of measurement of the mean of `tries` tries, from one day to another if
// there is such a figure. share_between_tries of its variance shrinks with further tries.
struct ProtocolError {
  double value = 0.0;  // SI
  int tries = 1;
  double share_between_tries = 0.5;  // default of data/mobility/tests.csv
  std::string source;
};

// Left against right: a difference up to this is usual in healthy people.
struct SideDifference {
  double value = 0.0;  // SI
  std::string source;
};

// Whom a test meets, for an entry of reach / no reach: normal with this mean and spread before the
// answer is known.
struct ReachPrior {
  double mean = 0.0;    // SI
  double spread = 0.0;  // SI
  std::string source;
};

// test value = offset + factor * result, for the slot of body::MobilityTests it fills; without a
// test nothing of the posture model moves. Distances are never turned into angles here: see
// body/knee_to_wall.h.
struct Informs {
  std::optional<MobilityTest> test;
  bool grip_width = false;  // fills Setup::grip_width
  double factor = 1.0;
  double offset = 0.0;  // SI
  std::string text;     // what it means for the squat, for people
  std::string source;
};

// From which the angle or distance of a photo is taken. Points are "shoulder", "hip", ... of the
// tested side, "other_hip", ... of the other one, "mid_hip", ..., "nose", or placed by hand only.
enum class PhotoMeasure : std::uint8_t {
  Turn,      // from the first direction to the second, positive towards the side where
             // `positive_towards` lies, in (-90, 270] deg
  Between,   // between the two directions, 0 to 180 deg
  Slope,     // between the two lines, whichever way they run, 0 to 90 deg
  Distance,  // between two points, by a known length in the picture
};
enum class PhotoAxis : std::uint8_t { Free, Up, Down, Horizontal };

// A direction: from one point to another, or an axis of the picture (then the points are empty).
struct PhotoLine {
  PhotoAxis axis = PhotoAxis::Free;
  std::string from, to;
};

struct PhotoRecipe {
  SketchView view = SketchView::Side;
  std::string camera;  // where the camera stands and what to look out for
  PhotoMeasure measure = PhotoMeasure::Between;
  PhotoLine first, second;       // of Distance: second.axis, the direction along which it counts
  std::string positive_towards;  // of Turn
  std::vector<std::string> by_hand;  // points that no network places: "wall"
  double factor = 1.0;               // result = offset + factor * what was measured
  double offset = 0.0;               // SI
  double standard_error = 0.0;       // SI, of the method, beyond where the points lie
  std::string source;                // of the standard error
};

struct TestProtocol {
  std::string id;  // "knee_to_wall_distance": lower case, digits, underscores
  std::string name;
  std::string purpose;
  std::string position;
  std::vector<std::string> steps;
  std::vector<std::string> equipment;
  ProtocolUnit unit = ProtocolUnit::Degrees;
  Sides sides = Sides::Each;
  Better better = Better::Higher;
  int tries = 3;         // to be averaged
  double minutes = 3.0;  // both sides, with the explaining; common practice, no source
  double lowest = 0.0;   // allowed range of a result, SI
  double highest = 0.0;
  std::optional<PassLine> pass_line;
  std::string norms_note;  // why there are none, or how they compare
  std::vector<Norm> norms;
  ProtocolError standard_error;
  std::optional<SideDifference> side_difference;
  std::optional<ReachPrior> reach;  // with it and a pass line: may be entered as reach / no reach
  Informs informs;
  std::vector<std::string> cautions;
  std::vector<WarningSign> not_with;  // not done while one of these is there
  std::optional<PhotoRecipe> photo;
  Sketch sketch;
  bool built_in = true;   // false: the practitioner's own, from a folder or the workplace's library
  bool archived = false;  // own one that is not offered any more; its results stay readable
  bool own_error = false;  // standard_error was measured at this workplace
};

// The two parts of the protocol's standard error: session^2 = (1 - share) SEM^2, trial^2 = share
// SEM^2 tries, so that error_of_mean() at the published number of tries gives the published SEM.
MeasurementError measurement_error(const ProtocolError& error);

// Breadth of the hand across the knuckles without the thumb [m], from stature [m] and sex: ANSUR II
// regression with its residual SD (data/anthropometry/segment-lengths.csv, hand_breadth).
Estimate estimate_hand_breadth(Sex sex, double stature);

// Where the pass line lies for this athlete [SI], with its own error (0 for absolute lines).
// hand_breadth: the athlete's own, where measured, else from stature. Errors: Invalid when a
// relative line needs a stature that is not known.
Result<Estimate> pass_line_of(const PassLine& line, const Athlete& athlete,
                              const std::optional<Estimate>& hand_breadth);

// Those of the athlete's warning signs under which the test is not done; empty = may be done.
std::vector<WarningSign> signs_against(const TestProtocol& protocol, const Athlete& athlete);

// nullptr if there is none of this id.
const TestProtocol* find_protocol(const std::vector<TestProtocol>& protocols, std::string_view id);

// The first protocol in use that fills this test of the model; nullptr if there is none.
const TestProtocol* protocol_for(const std::vector<TestProtocol>& protocols, MobilityTest test);

}  // namespace lintel::body
