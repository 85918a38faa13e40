// Where the camera stood, from landmarks and disc alone: view, near side, facing, turn, roll,
// scale. First estimates for the skeleton fit, and reasons to refuse or to film again.
#pragma once

#include <optional>
#include <vector>

#include "body/segments.h"
#include "kinematics/measurement.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

// Turn off a true side view [rad]. Above the first the angles of a side view without correction
// err by more than landmark noise; above the second the line shoulder - disc is 10 degrees wrong
// (measured on rendered figures: arm 15 degrees off at 15 degrees); above the third the side view
// holds too little of the sagittal plane to measure from (trunk 8, knee 13, arm 28 degrees off at
// 30, and cos 35 degrees = 0.82 leaves no margin).
inline constexpr double kTurnWarned = 5.0 * kRadiansPerDegree;
inline constexpr double kTurnRefusedForDiscArm = 10.0 * kRadiansPerDegree;
inline constexpr double kTurnRefused = 35.0 * kRadiansPerDegree;
// From here on it is a front view (turned off a side view); between, the view is oblique. Low,
// since the turn is read from widths that flatten out towards 90 degrees: 64 +/- 13 was read on a
// rendered view straight from the front.
inline constexpr double kTurnFront = 57.0 * kRadiansPerDegree;
// Roll that is mentioned: one degree of roll is one degree of every segment's inclination.
inline constexpr double kRollWarned = 3.0 * kRadiansPerDegree;
// Radius of a full-size disc [m] (450 mm, competition rules) and from the body's mid-plane to the
// middle of the near disc stack [m] (half of 1310 mm between the sleeves plus half a stack of 90
// mm).
inline constexpr double kDiscRadius = 0.225;
inline constexpr double kDiscPlaneOffset = 0.70;
// Focal length of a phone's main camera in video, in longer picture sides, and its error
// (26 to 32 mm of a 36 mm wide frame; from memory).
inline constexpr double kFocalPerLongSide = 0.80;
inline constexpr double kFocalRelativeError = 0.12;

struct CameraCheckOptions {
  std::optional<body::SegmentLengths> lengths = {};  // of the athlete; without: usual proportions
  double disc_radius = kDiscRadius;                  // [m]
  double disc_plane_offset = kDiscPlaneOffset;       // [m] mid-plane to the near disc
  std::optional<Estimate> focal_px = {};             // [px] if known
  std::optional<Estimate> vertical_roll = {};        // [rad] clockwise, from the phone's own sensor
};

struct CameraFinding {
  CameraCheck check;
  Estimate focal_px;            // used: given or assumed [px]
  Estimate turn_from_disc;      // [rad] signed like the body's; error infinity: no disc
  Estimate turn_from_body;      // [rad] signed: positive towards the athlete's front
  double facing_agreement = 0;  // 0..1: share of votes for the chosen facing
  double side_agreement = 0;    // 0..1: share of frames whose depths agree with near_side
  double body_share = 0;        // 0..1: frames with a body
  double disc_share = 0;        // 0..1: frames with a disc
  std::vector<std::size_t> standing_frames;  // indices into clip.frames used for the estimates
  std::vector<Warning> warnings;
};

// A clip without a body gives View::Unknown and the warning BodyLost.
CameraFinding check_camera(const ClipObservation& clip, const CameraCheckOptions& options = {});

// Remarks on turn, roll and scale that a finished check deserves; check_camera calls it, and the
// fit again after it has corrected the turn (yaw_corrected set).
std::vector<Warning> camera_warnings(const CameraCheck& check, bool disc_seen);

// Side measurements possible at all, and the arm line from shoulder to disc in particular.
bool side_measurement_allowed(const CameraCheck& check);
bool disc_arm_line_allowed(const CameraCheck& check);

}  // namespace lintel::kinematics
