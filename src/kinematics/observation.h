// What the eyes deliver: points in the picture with their confidence, frame by frame.
// Image coordinates are pixels of the upright analysis picture: x right, y down, origin at the
// top left corner of the top left pixel.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include <Eigen/Core>

namespace lintel::kinematics {

// Body landmarks in the order of the landmark network; left and right are the person's own.
enum class Landmark : std::uint8_t {
  Nose,
  LeftEyeInner,
  LeftEye,
  LeftEyeOuter,
  RightEyeInner,
  RightEye,
  RightEyeOuter,
  LeftEar,
  RightEar,
  LeftMouth,
  RightMouth,
  LeftShoulder,
  RightShoulder,
  LeftElbow,
  RightElbow,
  LeftWrist,
  RightWrist,
  LeftLittleKnuckle,
  RightLittleKnuckle,
  LeftIndexKnuckle,
  RightIndexKnuckle,
  LeftThumb,
  RightThumb,
  LeftHip,
  RightHip,
  LeftKnee,
  RightKnee,
  LeftAnkle,
  RightAnkle,
  LeftHeel,
  RightHeel,
  LeftToe,
  RightToe,
};
inline constexpr int kLandmarkCount = 33;

enum class BodySide : std::uint8_t { Left, Right };

std::string_view landmark_name(Landmark landmark);  // "left_knee", ...

struct LandmarkObservation {
  Eigen::Vector2f position_px = {0, 0};   // best estimate (heatmap-refined where possible)
  Eigen::Vector2f regressed_px = {0, 0};  // the network's regressed output, unrefined
  float depth_px = 0;                     // relative depth, smaller = nearer to the camera
  float confidence = 0;                   // 0..1, see pose/: heatmap peak with plausibility
  float visibility = 0;                   // 0..1, the network's own; not comparable between models
  bool refined = false;
  bool by_hand = false;  // a person put it here
};

struct BodyObservation {
  std::array<LandmarkObservation, kLandmarkCount> landmarks;
  float presence = 0;  // 0..1, the network's body flag

  const LandmarkObservation& operator[](Landmark l) const {
    return landmarks[static_cast<std::size_t>(l)];
  }
  LandmarkObservation& operator[](Landmark l) { return landmarks[static_cast<std::size_t>(l)]; }
};

// The near disc of the bar, seen as an ellipse.
struct DiscObservation {
  Eigen::Vector2f center_px = {0, 0};
  float semi_major_px = 0;
  float semi_minor_px = 0;
  float major_axis_angle = 0;          // [rad] from image x towards image y
  float center_standard_error_px = 0;  // of each coordinate
  float semi_axis_standard_error_px = 0;
  float support = 0;  // 0..1, share of the rim that was seen as an edge
};

struct FrameObservation {
  std::int64_t index = 0;  // 0-based in decode order
  double time = 0;         // [s] from the first frame, by time stamp
  std::optional<BodyObservation> body;
  std::optional<DiscObservation> disc;
};

struct ClipObservation {
  int width_px = 0;
  int height_px = 0;
  double nominal_rate = 0;  // [frames/s], 0 = still picture
  std::vector<FrameObservation> frames;
};

}  // namespace lintel::kinematics
