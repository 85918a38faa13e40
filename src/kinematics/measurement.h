// The measured squat: curves with their errors, repetitions, camera check. SI and radians.
// Sagittal conventions (see docs/notation.md): X forward, Y up; segment inclinations from vertical.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include <Eigen/Core>

#include "base/units.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

enum class Channel : std::uint8_t {
  TrunkInclination,   // mid-hip to mid-shoulder from vertical, forward positive [rad]
  ThighInclination,   // knee to hip from vertical, backward positive, pi/2 = level [rad]
  ShankInclination,   // ankle to knee from vertical, forward positive [rad]
  FootInclination,    // sole against the floor, heel up positive [rad]
  ArmInclination,     // shoulder to bar from vertical, forward positive [rad]
  AnkleDorsiflexion,  // shank inclination - foot inclination [rad]
  KneeFlexion,        // 0 = straight [rad]
  HipFlexion,         // trunk against thigh, 0 = straight [rad]
  ShoulderElevation,  // arm against trunk, pi = in line overhead, more = behind the trunk line
                      // [rad]
  ElbowFlexion,       // 0 = straight [rad]
  HeelLift,           // heel above its standing height [m]
  Depth,              // hip centre below knee centre, positive when below [m]
  HipHeight,          // hip centre above the floor [m]
  BarX,               // bar centre ahead of mid-foot [m]
  BarY,               // bar centre above the floor [m]
  CenterOfMassX,      // athlete and bar together, ahead of mid-foot [m]
  CenterOfMassY,      // above the floor [m]
};
inline constexpr int kChannelCount = 17;

enum class ChannelUnit : std::uint8_t { Radian, Metre };
struct ChannelInfo {
  std::string_view name;   // "trunk_inclination": stem of JSON keys and CSV headers
  std::string_view label;  // "trunk inclination": for people
  ChannelUnit unit;
};
const ChannelInfo& channel_info(Channel channel);

// One quantity over the clip; all vectors are empty or have one value a frame. Where a frame has
// no value the entry is NaN (inside the program only: files write null or an empty cell).
struct Series {
  std::vector<double> raw;             // from the landmarks as refined, no model
  std::vector<double> filtered;        // raw, zero-lag Butterworth
  std::vector<double> fitted;          // from the skeleton fit
  std::vector<double> standard_error;  // of fitted
  std::vector<double> rate;            // time derivative of fitted [unit/s]
  double cutoff_hz = 0;                // of the filter, by residual analysis
};

// Where the fitted skeleton is in the picture [px]; for drawing.
enum class FigurePoint : std::uint8_t {
  Toe,
  Heel,
  Ankle,
  Knee,
  Hip,
  Shoulder,
  Elbow,
  Wrist,
  Bar,
  MidFoot,
  Head
};
inline constexpr int kFigurePointCount = 11;
using Figure = std::array<Eigen::Vector2f, kFigurePointCount>;  // near side; NaN where unknown

enum class View : std::uint8_t { Side, Front, Oblique, Unknown };
enum class ScaleSource : std::uint8_t { Disc, Stature, None };

// A remark about the clip that the user must see. Codes are stable; texts are for people.
enum class WarningCode : std::uint8_t {
  CameraTurned,
  CameraTurnCorrected,
  CameraRolled,
  NoDisc,
  DiscLost,
  BodyLost,
  BodyLeavesPicture,
  ThighForeshortened,
  HeelsLift,
  LowFrameRate,
  SeveralPeople,
  NoRepetition,
  ScaleFromStature,
  ArmLineFromWrist,
  PoorLight,
  SideSwapped,
  StillPicture,
  UpsideDown,
  ClipDamaged,
  DiscHidesBody,
  CorrectedByHand,
};
struct Warning {
  WarningCode code;
  std::string message;  // one sentence with the numbers
  std::string advice;   // what to do about it; may be empty
};
std::string_view warning_code_name(WarningCode code);  // "camera_turned"

struct CameraCheck {
  View view = View::Unknown;
  BodySide near_side = BodySide::Right;
  double facing = 1;          // +1: the athlete faces image right, -1: image left
  Estimate yaw;               // [rad] off a true side (or front) view
  Estimate roll;              // [rad] clockwise in the picture
  Estimate pitch;             // [rad] looking down positive
  Estimate distance;          // [m] camera to the body's mid-plane
  Estimate pixels_per_metre;  // in the body's mid-plane
  ScaleSource scale_source = ScaleSource::None;
  bool yaw_corrected = false;
};

// A stretch of no motion near the bottom or anywhere in a repetition.
struct Pause {
  double start = 0;     // [s]
  double duration = 0;  // [s]
};

enum class RepetitionOutcome : std::uint8_t { Completed, Failed, CutOff };
enum class RepetitionMoment : std::uint8_t { Start, Bottom, End };
std::string_view repetition_moment_name(RepetitionMoment moment);  // "start", ...

struct ChannelExtreme {
  Estimate start;   // at the start of the repetition
  Estimate bottom;  // at the bottom frame
  Estimate change;  // bottom - start, with correlated errors taken out
};

struct Repetition {
  std::size_t start_frame = 0;  // indices into Measurement::time
  std::size_t bottom_frame = 0;
  std::size_t end_frame = 0;
  RepetitionOutcome outcome = RepetitionOutcome::Completed;
  double descent_duration = 0;  // [s]
  double bottom_duration = 0;   // [s] within 2 cm of the lowest hip height
  double ascent_duration = 0;   // [s]
  std::vector<Pause> pauses;
  std::array<ChannelExtreme, kChannelCount> channels;
  // Change of the arm-to-trunk angle from start to bottom, split into what the leaning trunk
  // demands to keep the bar where it is and what is left (negative = the shoulder gives way).
  Estimate shoulder_change_demanded;            // [rad]
  Estimate shoulder_change_given;               // [rad] measured change - demanded
  bool below_parallel = false;                  // hip centre below knee centre at the bottom
  std::vector<RepetitionMoment> moved_by_hand;  // moments that a person put elsewhere
};

// Spread over completed repetitions.
struct Consistency {
  int repetitions = 0;
  std::array<Estimate, kChannelCount>
      bottom;  // mean at the bottom; standard_error = SD across reps
};

struct Measurement {
  CameraCheck camera;
  std::vector<double> time;  // [s], per frame that was measured
  std::vector<std::int64_t> frame_index;
  std::array<Series, kChannelCount> series;
  std::vector<Figure> figures;
  std::vector<Repetition> repetitions;
  Consistency consistency;
  std::vector<Warning> warnings;

  const Series& operator[](Channel c) const { return series[static_cast<std::size_t>(c)]; }
  Series& operator[](Channel c) { return series[static_cast<std::size_t>(c)]; }
};

// What a front view gives. Lengths need a scale; angles do not.
struct FrontMeasurement {
  Estimate stance_width;            // [m] between the heels' centres
  std::array<Estimate, 2> toe_out;  // [rad] left, right
  Estimate grip_width;              // [m] between the index knuckles
  // Knee centre against the line hip - ankle, outward positive [m], left and right, at the bottom.
  std::array<Estimate, 2> knee_line_bottom;
  Estimate hip_shift_bottom;  // [m] mid-hip towards the athlete's right of mid-feet
  Estimate bar_tilt_bottom;   // [rad] right end down positive
};

}  // namespace lintel::kinematics
