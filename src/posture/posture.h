// The posture model: one athlete at the bottom of a squat. SI, radians, ISB axes (X forward, Y up,
// Z to the right; origin on the floor midway between the ankles). Equations: docs/model.md.
//
//   auto body = posture::body_parameters(athlete);
//   auto limits = posture::limits_from_tests(athlete, body->lengths);
//   auto model = posture::Model::create(*body, athlete.setup, limits->limits);
//   posture::Solution s = posture::solve_most_upright(*model);
//
// Nothing here allocates after Model::create; all types are plain values, safe to copy and to use
// from any thread.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

#include <Eigen/Core>

#include "base/result.h"
#include "base/units.h"
#include "body/athlete.h"
#include "body/body_segments.h"
#include "body/segments.h"
#include "posture/limits.h"

namespace lintel::posture {

// One athlete as the model sees it.
struct BodyParameters {
  body::Sex sex = body::Sex::Female;
  double stature = 0.0;    // [m]
  double body_mass = 0.0;  // [kg]
  body::SegmentLengths lengths;
  std::array<body::PartParameters, body::kPartCount> parts{};
  body::TrunkDivision trunk;
  Capacities capacities;
};
// Estimates what was not measured. Errors: Invalid, with field and allowed range.
Result<BodyParameters> body_parameters(const body::Athlete& athlete);
BodyParameters make_body_parameters(body::Sex sex, double stature, double body_mass,
                                    const body::SegmentLengths& lengths);

// The unknowns. Depth is fixed by the setup unless it is itself the aim.
enum class Coordinate : std::uint8_t {
  AnkleDorsiflexion,  // [rad]
  KneeLine,           // shank lateral tilt out of the foot's plane, outward positive [rad]
  ThighDrop,          // sine of the thigh below level: hip below knee / thigh length [1]
  PelvicTilt,         // pelvis from its upright neutral, forward positive [rad]
  LumbarFlexion,      // [rad]
  ThoracicExtension,  // [rad]
  ArmInclination,     // arm from vertical, sagittal, forward positive [rad]
};
inline constexpr int kCoordinateCount = 7;
using Coordinates = std::array<double, kCoordinateCount>;

// Weights of the terms of the objective; see docs/model.md.
struct ObjectiveWeights {
  double trunk_inclination = 0.0;  // of |trunk inclination|, rounded within 3 degrees [1/rad]
  double effort = 0.0;             // of sum (moment / capacity)^2
  double thigh_drop = 0.0;         // of minus the thigh drop (deepest posture)
  double edges = 1.0;              // of the passive resistance at the limits
  double spine = 0.0;              // of (angle / range)^2 of spine and knee line
};

// Everything that is fixed in a solve. create() checks the setup and returns every fault as an
// Error with field and allowed range.
class Model {
 public:
  static Result<Model> create(const BodyParameters& body, const body::Setup& setup,
                              const Limits& limits);
  const BodyParameters& body() const { return body_; }
  const body::Setup& setup() const { return setup_; }
  const Limits& limits() const { return limits_; }

 private:
  Model() = default;
  BodyParameters body_;
  body::Setup setup_;
  Limits limits_;
};

enum class Outcome : std::uint8_t {
  Solved,          // Karush-Kuhn-Tucker conditions hold to Options::tolerance
  Infeasible,      // no posture respects all limits; see Solution::conflict
  IterationLimit,  // neither; the best point so far is returned
};
std::string_view outcome_name(Outcome outcome);

struct Options {
  int max_iterations = 60;    // of one start
  double tolerance = 1e-8;    // largest KKT residual, in radians of trunk inclination per unit
  double feasibility = 1e-9;  // largest violation of a hard limit [rad or scaled m]
};

// Where a neighbour ended; makes the next solve short.
struct WarmStart {
  Coordinates coordinates{};
  std::array<double, kLimitCount> multipliers{};
};

// Joint moments, internal (what the muscles must give), one leg / one arm [N m].
struct JointMoments {
  Eigen::Vector3d ankle = Eigen::Vector3d::Zero();     // right ankle, moment on the shank, in W
  Eigen::Vector3d knee = Eigen::Vector3d::Zero();      // right knee, moment on the thigh, in W
  Eigen::Vector3d hip = Eigen::Vector3d::Zero();       // right hip, moment on the pelvis, in W
  Eigen::Vector3d low_back = Eigen::Vector3d::Zero();  // on the lumbar part, whole body, in W
  Eigen::Vector3d shoulder = Eigen::Vector3d::Zero();  // right shoulder, moment on the arm, in W
  double ankle_plantarflexion = 0.0;
  double knee_extension = 0.0;
  double hip_extension = 0.0;
  double low_back_extension = 0.0;
  double shoulder_flexion = 0.0;
};

// A posture in full: what a drawing, a report or a comparison needs.
struct Posture {
  Coordinates coordinates{};
  // Joint centres in W [m]; limbs: right side (left mirrors Z).
  Eigen::Vector3d p_WAnkle, p_WKnee, p_WHip, p_WShoulder, p_WElbow, p_WWrist, p_WHand, p_WHeel,
      p_WToe;
  Eigen::Vector3d p_WLumbar, p_WThorax, p_WVertex, p_WBar;  // mid-plane: lumbar and thorax hinges
  Eigen::Vector3d p_WMidFoot;                               // right foot, on the floor
  Eigen::Vector3d p_WCenterOfMass;                          // athlete and bar
  Eigen::Vector3d p_WCenterOfPressure;                      // mid-plane, of both feet
  double foot_pitch = 0.0;
  double shank_inclination = 0.0;  // sagittal projection, forward positive [rad]
  double thigh_inclination = 0.0;  // sagittal projection, backward, pi/2 = level [rad]
  double trunk_inclination = 0.0;  // mid-hip to mid-shoulder [rad]
  double pelvis_inclination = 0.0;
  double lumbar_inclination = 0.0;
  double thorax_inclination = 0.0;
  double arm_inclination = 0.0;
  double ankle_dorsiflexion = 0.0;
  double knee_flexion = 0.0;
  double hip_flexion = 0.0;  // thigh against pelvis, in the pelvis's sagittal plane
  double hip_abduction = 0.0;
  double hip_external_rotation = 0.0;
  double shoulder_elevation = 0.0;     // arm against thorax, sagittal projection, pi = in line
  double arm_spread = 0.0;             // arm out of the sagittal plane by the grip [rad]
  double depth = 0.0;                  // hip centre below knee centre [m]
  double hip_height = 0.0;             // [m]
  double bar_ahead_of_shoulder = 0.0;  // [m]
  double bar_ahead_of_mid_foot = 0.0;  // [m]
  double center_of_pressure = 0.0;     // ahead of mid-foot [m]
  double ground_force = 0.0;           // on both feet [N]
  double seat_force = 0.0;             // [N]
  double effort = 0.0;                 // sum (moment / capacity)^2
  JointMoments moments;
};

struct Solution {
  Outcome outcome = Outcome::IterationLimit;
  Posture posture;
  ObjectiveWeights weights;
  double objective = 0.0;
  // Per limit: room to the measured edge (negative: inside the passive resistance beyond it)
  // [rad, m]; infinity where there is no limit.
  std::array<double, kLimitCount> reserve{};
  std::array<double, kLimitCount> resistance{};   // slope of the soft edge, 0 = not touched
  std::array<double, kLimitCount> multipliers{};  // of the hard stop, 0 = not active
  std::array<double, kLimitCount> violation{};    // beyond the hard stop; all 0 unless infeasible
  std::array<bool, kLimitCount> conflict{};       // infeasible: the limits that exclude each other
  std::array<bool, kCoordinateCount> frozen{};
  double kkt_residual = 0.0;
  int iterations = 0;
  WarmStart warm_start;

  bool binds(Limit l) const {
    return resistance[static_cast<std::size_t>(l)] > 0.0 ||
           multipliers[static_cast<std::size_t>(l)] > 0.0;
  }
};

ObjectiveWeights most_upright_weights();
ObjectiveWeights habitual_weights();
ObjectiveWeights deepest_weights();

// Least trunk inclination under the limits: what the body allows today.
Solution solve_most_upright(const Model& model, const Options& options = {},
                            const WarmStart* warm = nullptr);
// Least sum of squared moments over capacities (Crowninshield & Brand 1981).
Solution solve_habitual(const Model& model, const Options& options = {},
                        const WarmStart* warm = nullptr);
// The deepest posture that the limits and balance allow; setup depth and surface are not used.
Solution solve_deepest(const Model& model, const Options& options = {},
                       const WarmStart* warm = nullptr);
Solution solve(const Model& model, const ObjectiveWeights& weights, const Options& options = {},
               const WarmStart* warm = nullptr);

// The posture at given coordinates, optimal or not: a measured one, or one to draw.
Posture evaluate_posture(const Model& model, const Coordinates& coordinates);

// ---- Sensitivities -------------------------------------------------------------------------

// Everything that the solution may be differentiated by: the edges of the limits, then the levers.
enum class Lever : std::uint8_t {
  StanceWidth,
  ToeOut,
  HeelElevation,
  GripWidth,
  BarMass,
  Depth,
  SurfaceHeight,
  SeatShare,
  CenterOfPressureTarget,
};
inline constexpr int kLeverCount = 9;
std::string_view lever_name(Lever lever);  // "stance_width", ...

// Total derivatives of the optimum by the implicit function theorem on the KKT system:
// [output units / parameter units]. A limit that does not bind has exactly zero. A lever that the
// setup does not use (surface without a surface) has zero.
struct OutputSensitivity {
  std::array<double, kLimitCount> by_limit{};
  std::array<double, kLeverCount> by_lever{};
  std::array<double, body::kSegmentCount> by_length{};
};
struct Sensitivities {
  OutputSensitivity trunk_inclination;
  OutputSensitivity shoulder_elevation;
  OutputSensitivity depth;      // of the hip below the knee [m]
  OutputSensitivity objective;  // envelope theorem, for checks
};
// solution.outcome must be Solved. Errors: Invalid otherwise; Internal if the KKT system is
// singular.
Result<Sensitivities> compute_sensitivities(const Model& model, const Solution& solution);

// ---- Infeasible ----------------------------------------------------------------------------

// Smallest change of one lever or one limit alone that makes the posture possible.
struct Fix {
  bool possible = false;
  double value = 0.0;   // the new value of the lever or edge
  double change = 0.0;  // value - present value
};
struct Infeasibility {
  std::array<bool, kLimitCount> conflict{};
  std::array<Fix, kLeverCount> by_lever;  // within the allowed range of the setup
  std::array<Fix, kLimitCount> by_limit;  // up to 30 degrees (or 10 cm) more
  double deepest = 0.0;                   // deepest depth that is possible [m]
  bool deepest_known = false;             // false: not even that has a solution
};
// For a solution with outcome Infeasible; bisection on each lever to 1e-4 of its range.
Infeasibility explain_infeasibility(const Model& model, const Solution& solution,
                                    const Options& options = {});

// ---- Left and right ------------------------------------------------------------------------

// The reduction for different sides (docs/model.md): the symmetric model with the limits of the
// worse side of each test, of the left on both, of the right on both.
struct SideCost {
  Solution worse_of_both;
  Solution left_on_both;
  Solution right_on_both;
  double cost_of_left = 0.0;   // trunk inclination that the left side costs: worse - right on both
  double cost_of_right = 0.0;  // worse - left on both
};
Result<SideCost> solve_sides(const BodyParameters& body, const body::Setup& setup,
                             const AthleteLimits& limits, const Options& options = {});

}  // namespace lintel::posture
