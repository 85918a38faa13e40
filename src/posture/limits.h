// What bounds a posture: joint limits with soft edges, the couplings between them, where they come
// from, and the capacities of the joints.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "base/result.h"
#include "base/units.h"
#include "body/athlete.h"
#include "body/segments.h"

namespace lintel::posture {

// One-sided; every edge is the largest allowed value in the direction of the name.
enum class Limit : std::uint8_t {
  AnkleDorsiflexion,    // shank inclination in the foot's plane less the foot's pitch [rad]
  KneeFlexion,          // [rad]
  HipFlexion,           // thigh against pelvis, less what abduction and rotation buy [rad]
  HipAbduction,         // [rad]
  HipExternalRotation,  // [rad]
  LumbarFlexion,        // lumbar against pelvis, from neutral [rad]
  LumbarExtension,      // [rad]
  ThoracicExtension,    // thorax against lumbar, from neutral [rad]
  ThoracicFlexion,      // [rad]
  ShoulderElevation,    // arm against thorax at a shoulder-wide grip, pi = in line [rad]
  LatissimusLength,     // the same with the latissimus as the stop, at a neutral spine [rad]
  ArmTiltForward,       // arm from vertical, sagittal [rad]
  ArmTiltBackward,      // [rad]
  KneeOutward,          // shank out of the foot's plane [rad]
  KneeInward,           // [rad]
  BalanceForward,       // centre of pressure ahead of its target [m]
  BalanceBackward,      // behind its target [m]
  KneeForward,          // knee centre ahead of the toe tip [m]; no limit unless set
  ThighReach,           // geometry: the thigh can span the distance (always on) [1]
  HipInternalRotation,  // [rad]
};
inline constexpr int kLimitCount = 20;
std::string_view limit_name(Limit limit);  // "ankle_dorsiflexion", ...
bool is_length(Limit limit);               // edge in metres

// Passive resistance begins soft_width inside the edge, grows as the cube, has slope 1 at the edge
// (1 rad of trunk inclination against 1 rad of joint), and the posture never goes hard_margin
// beyond.
struct Edge {
  double edge = 0.0;  // infinity = no limit
  double soft_width = 0.0;
  double hard_margin = 0.0;
};

// How one limit moves another; defaults with sources in data/mobility/limits.csv.
struct Couplings {
  double hip_flexion_per_abduction = 0.0;
  double hip_flexion_per_external_rotation = 0.0;
  double hip_flexion_gain_saturation = 0.0;  // [rad]
  double shoulder_per_grip_abduction = 0.0;
  double latissimus_per_grip_abduction = 0.0;
  double latissimus_per_lumbar_flexion = 0.0;
};

// Largest moments [N m]: legs and arms of one side, low back of the whole.
struct Capacities {
  double ankle = 0.0;
  double knee = 0.0;
  double hip = 0.0;
  double low_back = 0.0;
  double shoulder = 0.0;
};
Capacities default_capacities(body::Sex sex, double body_mass);

struct Limits {
  std::array<Edge, kLimitCount> edges;
  Couplings couplings;

  const Edge& operator[](Limit l) const { return edges[static_cast<std::size_t>(l)]; }
  Edge& operator[](Limit l) { return edges[static_cast<std::size_t>(l)]; }
};

// Defaults of data/mobility/limits.csv. foot_length [m] scales the balance window.
Limits reference_limits(double foot_length);  // the mobility an overhead lifter should have
Limits average_limits(double foot_length);    // what an untested adult probably has

enum class LimitSource : std::uint8_t { Measured, Derived, Default };

// Limits of one athlete with their errors; index [side] is body::Side.
struct AthleteLimits {
  Limits limits;                                   // the worse side of each test
  std::array<Limits, 2> side;                      // left, right
  std::array<double, kLimitCount> standard_error;  // of each edge, test or population SD [rad, m]
  std::array<LimitSource, kLimitCount> source;
};

// Tests become edges: knee-to-wall distance by the athlete's own foot and shank (an angle, where
// given, wins), wall test: pi less the short angle (turned in: shoulder range, turned out:
// latissimus), thoracic rotation by a stated ratio. What was not tested is average, with the
// population's SD as its error. Errors: Invalid, with field and allowed range.
Result<AthleteLimits> limits_from_tests(const body::Athlete& athlete,
                                        const body::SegmentLengths& lengths);

}  // namespace lintel::posture
