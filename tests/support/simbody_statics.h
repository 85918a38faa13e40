// Joint moments of a static posture by Simbody, behind plain numbers: Simbody's headers need C++17.
#pragma once

#include <array>

namespace lintel::test {

using Triple = std::array<double, 3>;

// One squat as a tree that starts at the pelvis. Angles [rad], lengths [m], masses [kg], forces
// [N]; world axes X forward, Y up, Z right.
struct SimbodySquat {
  Triple mid_hip;
  double pelvis_inclination, lumbar_flexion, thoracic_extension, head_inclination, arm_inclination,
      arm_spread;
  double half_hip, half_shoulder;
  double pelvis_length, lumbar_length, thorax_length;
  double pelvis_center, lumbar_center, thorax_center, head_center;
  double upper_arm, forearm, grip;
  double upper_arm_center, forearm_center, hand_center;  // [m] from the upper end (hand: the wrist)
  double thigh_length, thigh_center, shank_length, shank_center;
  Triple thigh_direction;  // right, hip to knee, unit
  Triple shank_direction;  // right, knee to ankle, unit
  Triple foot_center;      // right, from the ankle
  double mass_pelvis, mass_lumbar, mass_thorax, mass_head, mass_upper_arm, mass_forearm, mass_hand,
      mass_thigh, mass_shank, mass_foot, mass_bar;
  double ground_force_per_foot;
  Triple center_of_pressure;  // right foot, in the world
  double seat_force;          // at mid-hip
  double gravity;
};

// Internal moments in the world, right side: on the shank by the foot's joint, and so on, with the
// signs of posture::JointMoments; and what the root would need (zero if the posture balances).
struct SimbodyMoments {
  Triple ankle, knee, hip, low_back, shoulder;
  Triple root_moment, root_force;
  Triple right_ankle;  // where the chain ends
  Triple right_hand;
};

SimbodyMoments compute_simbody_moments(const SimbodySquat& squat);

}  // namespace lintel::test
