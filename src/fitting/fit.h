// Fit of one skeleton to a whole clip: the contract. SI units and radians; see docs/fit.md.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"
#include "body/segments.h"
#include "kinematics/measurement.h"
#include "kinematics/observation.h"

namespace lintel::fitting {

// Where the bar is. None: empty hands, the arms move freely.
enum class BarPosition : std::uint8_t { None, Overhead, Back, Front };

// Fixed: the feet stay where they are (1 cm of creep). MayShift: 6 cm of slow drift.
enum class FeetPrior : std::uint8_t { Fixed, MayShift };

// Mass of a segment (left and right together) as fraction of body mass, and its centre of mass as
// fraction of the length from the named end.
struct SegmentMass {
  double mass_fraction = 0;
  double center_fraction = 0;
};
struct MassModel {
  double body_mass = 0;      // [kg] > 0
  double bar_mass = 0;       // [kg] bar and discs
  SegmentMass foot;          // from the heel
  SegmentMass shank;         // from the knee
  SegmentMass thigh;         // from the hip
  SegmentMass trunk;         // from mid-shoulder to mid-hip
  SegmentMass head;          // from the vertex, of HeadNeck
  SegmentMass upper_arm;     // from the shoulder
  SegmentMass forearm_hand;  // from the elbow, of Forearm
};

// What is known before looking at the clip, each with its standard deviation.
struct FitPriors {
  body::SegmentLengths lengths;
  std::optional<double> disc_diameter;     // [m]; none: the scale comes from the lengths
  Estimate disc_plane_offset{0.70, 0.05};  // [m] mid-plane to the near disc's visible face
  std::optional<Estimate> grip_width;      // [m] between the middle of the hands
  BarPosition bar_position = BarPosition::Overhead;
  Estimate stance_width{0.35, 0.10};  // [m] between the ankle centres
  Estimate toe_out{15 * kRadiansPerDegree, 10 * kRadiansPerDegree};
  FeetPrior feet = FeetPrior::Fixed;
  double facing = 1;  // +1: the athlete faces image right, -1: image left
  kinematics::BodySide near_side = kinematics::BodySide::Right;  // whose landmarks are near
  Estimate yaw{0, 12 * kRadiansPerDegree};   // positive: camera moved towards the athlete's front
  Estimate roll{0, 1 * kRadiansPerDegree};   // scene turned clockwise positive
  Estimate pitch{0, 4 * kRadiansPerDegree};  // looking down positive
  Estimate focal_per_long_side{0.75, 0.12};
  Estimate camera_height{1.0, 0.4};  // [m] above the floor
  std::optional<MassModel> masses;   // none: no balance prior, no centre of mass
};

struct FitOptions {
  // White part of a landmark's error [m] at confidence 1, near side, at a large joint.
  double landmark_noise = 0.012;
  // Errors of a network persist over neighbouring frames: integral correlation time [s] (the sum
  // of the autocorrelation on both sides is twice this).
  double noise_correlation_time = 0.2;
  double disc_correlation_time = 0.1;
  // Multiplies means and SDs of where landmarks may sit off their joint centres (offsets.h).
  double offset_scale = 1.0;
  double balance = 0.030;           // [m] SD of the centre of mass about its usual place
  double balance_place = 0.05;      // [m] SD of that place about mid-foot
  double knot_spacing = 0.10;       // [s] of the cubic B-splines
  double motion_prior_scale = 1.0;  // > 1: looser smoothness
  double pooled_rate = 30.0;        // [frames/s] faster clips are pooled to this rate
  int window_frames = 900;          // pooled frames solved together
  double gap_limit = 0.5;           // [s] from the nearest observation; beyond: no value
  int max_iterations = 120;         // most clips need 15 to 40
  double tolerance = 3e-6;          // relative change of the cost
  bool adapt_noise = true;          // re-estimate each landmark's noise once from its residuals
};

enum class FitOutcome : std::uint8_t {
  Converged,
  IterationLimit,    // usable, but the cost still fell
  NotEnoughData,     // no or too few frames with a body: nothing was fitted, series are empty
  NumericalFailure,  // the solver gave up: series are empty
};
std::string_view fit_outcome_name(FitOutcome outcome);

struct FittedSeries {
  std::vector<double> value;           // NaN where the frame is too far from any observation
  std::vector<double> standard_error;  // of value; NaN likewise
  std::vector<double> rate;            // [unit/s], derivative of the spline
};

// Global unknowns that a user may want to see.
enum class GlobalQuantity : std::uint8_t {
  CameraAim,
  CameraHeight,
  CameraDistance,
  FocalLength /* px */,
  Yaw,
  Roll,
  Pitch,
  Shank,
  Thigh,
  Trunk,
  UpperArm,
  Forearm,
  AnkleHeight,
  HeelToAnkle,
  AnkleToBall,
  InterHip,
  InterShoulder,
  StanceWidth,
  ToeOut,
  FootStagger,
  GripWidth,
  DiscPlaneOffset,
  DiscScale,
  DiscAspect,
  BarOffsetForward,
  BarOffsetUp,
  BalancePlace,
  KneeOut,
};
inline constexpr int kGlobalQuantityCount = 28;
std::string_view global_quantity_name(GlobalQuantity quantity);

enum class FittedLandmark : std::uint8_t {
  Shoulder,
  Elbow,
  Wrist,
  Hip,
  Knee,
  Ankle,
  Heel,
  Toe,
};
inline constexpr int kFittedLandmarkCount = 8;

struct LandmarkReport {
  FittedLandmark landmark = FittedLandmark::Shoulder;
  bool near_side = true;
  bool used = false;             // false: dropped (wrist and elbow behind a disc) or never seen
  int observations = 0;          // pooled frames
  double rms = 0;                // [m] of the residual in each coordinate, in the body's plane
  double noise = 0;              // [m] SD used in the last solve
  double down_weighted = 0;      // share of observations whose weight fell below one half
  Eigen::Vector2d offset{0, 0};  // [m] across and along the segment, standing
  Eigen::Vector2d flexion_offset{0, 0};  // [m] added at full flexion
};

struct ResidualStatistics {
  std::vector<LandmarkReport> landmarks;  // near then far, in the order of FittedLandmark
  double disc_rms_px = 0;                 // of the centre
  double cost = 0;
  int iterations = 0;
  int pooled_frames = 0;
  int windows = 0;
};

// Errors of the channels over time. What the whole clip shares (lengths, offsets, camera) is
// correlated between frames; the rest is local. Copyable, cheap to share.
class ErrorModel {
 public:
  static constexpr int kSharedRank = 12;
  // Standard error of channel at frame b minus channel at frame a [unit]; NaN where either has no
  // value. Errors local to frames more than half a second apart are taken as independent.
  double change_standard_error(kinematics::Channel channel, std::size_t frame_a,
                               std::size_t frame_b) const;
  // Covariance of two channels' errors at two frames through what the clip shares.
  double shared_covariance(kinematics::Channel channel_a, std::size_t frame_a,
                           kinematics::Channel channel_b, std::size_t frame_b) const;

  using Shared = Eigen::Matrix<float, kinematics::kChannelCount, kSharedRank>;
  struct Table {
    std::vector<Shared> shared;  // per frame; rows: sensitivity to unit-variance shared errors
    std::array<std::vector<double>, kinematics::kChannelCount> standard_error;
  };
  ErrorModel() = default;  // no errors known: every standard error is NaN
  explicit ErrorModel(std::shared_ptr<const Table> table) : table_(std::move(table)) {}

 private:
  std::shared_ptr<const Table> table_;
};

struct FitResult {
  FitOutcome outcome = FitOutcome::NotEnoughData;
  std::string outcome_reason;  // one sentence when not Converged
  std::vector<double> time;    // [s] per frame of the clip
  std::vector<std::int64_t> frame_index;
  std::array<FittedSeries, kinematics::kChannelCount> channels;
  // Angles in space, unlike the sagittal projections in `channels`: thigh from vertical, knee and
  // hip included angles as flexion, of the near side. They differ when the knees travel sideways.
  FittedSeries thigh_inclination_3d, knee_flexion_3d, hip_flexion_3d;
  FittedSeries knee_spread;                 // [m] knee centre to the mid-plane
  bool bar_fitted = false;                  // false: bar channels are NaN
  std::vector<kinematics::Figure> figures;  // [px] in the picture as given, near side
  // Near-side points in W [m]: X forward, Y up, Z to the athlete's right, origin on the floor
  // under mid-foot; NaN likewise. Order of kinematics::FigurePoint.
  std::vector<std::array<Eigen::Vector3d, kinematics::kFigurePointCount>> points;
  std::array<Estimate, kGlobalQuantityCount> globals;
  kinematics::CameraCheck camera;  // refined: yaw, roll, pitch, distance, scale
  ResidualStatistics statistics;
  ErrorModel errors;

  const FittedSeries& operator[](kinematics::Channel c) const {
    return channels[static_cast<std::size_t>(c)];
  }
  const Estimate& operator[](GlobalQuantity q) const {
    return globals[static_cast<std::size_t>(q)];
  }
};

// Inclinations are sagittal projections (see measurement.h); left and right are taken as
// symmetric, so landmarks of both sides determine one leg and one arm.
// Errors: Invalid (times not rising, lengths or picture size not positive, not finite), Cancelled.
// A clip that cannot be fitted is an outcome, not an error. Thread-safe; starts no thread.
// Cost: about one second for 300 frames.
Result<FitResult> fit_skeleton(const kinematics::ClipObservation& clip, const FitPriors& priors,
                               const FitOptions& options = {}, const WorkContext& context = {});

}  // namespace lintel::fitting
