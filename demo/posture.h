// One instant of the lifter: a closed chain in 3-D from a few sagittal quantities.
// World frame W: X forward, Y up, Z to the athlete's right [m], origin on the floor under the
// mid-point of the ankles as they stand with the feet flat.
#pragma once

#include <array>
#include <cstdint>

#include <Eigen/Core>

#include "base/result.h"
#include "demo/lifter.h"

namespace lintel::demo {

using Point = Eigen::Vector3d;

enum class ArmPose : std::uint8_t { Overhead, Back, Hanging };

struct Setup {
  double stance_width = 0.38;  // between the ankle centres [m]
  double toe_out = 0.30;       // each foot's long axis from straight ahead [rad]
  double grip_width = 0.80;    // between the index knuckles [m]
  double bar_mass = 40;        // with its discs [kg]
  ArmPose arms = ArmPose::Overhead;
};

// What is chosen at an instant; the rest follows from the chain.
struct PostureInput {
  double shank_tilt = 0;         // in the vertical plane of the foot's long axis, forward [rad]
  double knee_in = 0;            // shank tilt out of that plane, towards the mid-plane [rad]
  double thigh_inclination = 0;  // sagittal, knee to hip, backward positive [rad]
  double trunk_inclination = 0;  // forward positive [rad]
  double foot_inclination = 0;   // heel up about the ball of the foot [rad]
  double bar_x = 0;              // bar centre in W, when overhead [m]
};

enum Side : std::uint8_t { kLeft = 0, kRight = 1 };

struct Limbs {
  Point hip, knee, ankle, heel, ball, toe, shoulder, elbow, wrist, hand;
  Point foot_direction;  // unit, along the sole, heel to ball
};

struct Skeleton {
  std::array<Limbs, 2> side;  // [kLeft], [kRight]
  Point mid_hip, mid_shoulder, neck, head_top, head_center, nose;
  std::array<Point, 2> ear;
  Point bar;             // centre of the bar (mid-point of the hands where there is none)
  Point mid_foot;        // on the floor
  Point center_of_mass;  // athlete and bar
  double trunk_inclination = 0;
  double head_inclination = 0;
};

// Sagittal angles [rad] in the conventions of kinematics/measurement.h, from projected joints.
struct SagittalAngles {
  double trunk = 0, thigh = 0, shank = 0, foot = 0, arm = 0;
  double ankle_dorsiflexion = 0, knee_flexion = 0, hip_flexion = 0, shoulder_elevation = 0;
  double elbow_flexion = 0;
};
SagittalAngles sagittal_angles(const Skeleton& skeleton);

// Forward distance of mid-foot (half-way between heel and toe tip) from the ankles [m].
double mid_foot_x(const Lengths& lengths, const Setup& setup);

// Builds the skeleton. Fails (Invalid) where the chain cannot close: thigh too short for the
// stance, or the bar out of the arms' reach.
Result<Skeleton> build_skeleton(const Lifter& lifter, const Setup& setup,
                                const PostureInput& input);

// Mid-hip to mid-shoulder with the arms held like this [m].
double trunk_length(const Lengths& lengths, const Setup& setup);

// From the hand's centre to the index knuckle, along the bar [m].
double index_knuckle_offset(const Lengths& lengths);

enum class Balance : std::uint8_t { ByTrunk, ByThigh };

// Solves the trunk (or thigh) inclination that puts the common centre of mass over x = `target_x`,
// by bisection on the exact chain. Fails (Invalid) when no inclination in reach balances.
Result<Skeleton> build_balanced(const Lifter& lifter, const Setup& setup, PostureInput input,
                                double target_x, Balance by);

}  // namespace lintel::demo
