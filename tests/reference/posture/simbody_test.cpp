// Joint moments against Simbody 3.7, an independent rigid-body library, on the same postures.
#include <gtest/gtest.h>

#include "posture/posture.h"
#include "support/posture_population.h"
#include "support/simbody_statics.h"

namespace lintel::posture {
namespace {

using body::Part;
using body::Segment;
using test::Triple;

Triple triple(const Eigen::Vector3d& v) {
  return {v.x(), v.y(), v.z()};
}

test::SimbodySquat describe_squat(const Model& model, const Posture& p) {
  const BodyParameters& b = model.body();
  const auto part = [&](Part q) { return b.parts[static_cast<std::size_t>(q)]; };
  const auto length = [&](Segment s) { return b.lengths[s].value; };
  const double trunk = length(Segment::Trunk);
  test::SimbodySquat s{};
  s.mid_hip = {p.p_WHip.x(), p.p_WHip.y(), 0.0};
  s.pelvis_inclination = p.coordinates[3];
  s.lumbar_flexion = p.coordinates[4];
  s.thoracic_extension = p.coordinates[5];
  s.head_inclination = 0.5 * p.thorax_inclination;
  s.arm_inclination = p.coordinates[6];
  s.arm_spread = p.arm_spread;
  s.half_hip = 0.5 * length(Segment::InterHip);
  s.half_shoulder = 0.5 * length(Segment::InterShoulder);
  s.pelvis_length = b.trunk.pelvis_length * trunk;
  s.lumbar_length = b.trunk.lumbar_length * trunk;
  s.thorax_length = b.trunk.thorax_length * trunk;
  s.pelvis_center = b.trunk.pelvis_center * trunk;
  s.lumbar_center = b.trunk.lumbar_center * trunk;
  s.thorax_center = b.trunk.thorax_center * trunk;
  s.head_center = length(Segment::HeadNeck) - b.trunk.head_center_below_vertex * b.stature;
  s.upper_arm = length(Segment::UpperArm);
  s.forearm = length(Segment::Forearm);
  s.grip = length(Segment::Grip);
  s.upper_arm_center = part(Part::UpperArm).center_of_mass * s.upper_arm;
  s.forearm_center = part(Part::Forearm).center_of_mass * s.forearm;
  s.hand_center = b.trunk.hand_center_from_wrist * b.stature;
  s.thigh_length = length(Segment::Thigh);
  s.thigh_center = part(Part::Thigh).center_of_mass * s.thigh_length;
  s.shank_length = length(Segment::Shank);
  s.shank_center = part(Part::Shank).center_of_mass * s.shank_length;
  s.thigh_direction = triple((p.p_WKnee - p.p_WHip).normalized());
  s.shank_direction = triple((p.p_WAnkle - p.p_WKnee).normalized());
  // The foot's centre of mass along the sole at half the ankle's height, turned with the rear foot.
  const double ahead =
      part(Part::Foot).center_of_mass * length(Segment::Foot) - length(Segment::HeelToAnkle);
  const double down = -0.5 * length(Segment::AnkleHeight);
  const double c = std::cos(p.foot_pitch), n = std::sin(p.foot_pitch);
  const double u = ahead * c + down * n;
  const double toe = model.setup().toe_out;
  s.foot_center = {u * std::cos(toe), -ahead * n + down * c, u * std::sin(toe)};
  s.mass_pelvis = b.body_mass * part(Part::Pelvis).mass_fraction;
  s.mass_lumbar = b.body_mass * part(Part::Lumbar).mass_fraction;
  s.mass_thorax = b.body_mass * part(Part::Thorax).mass_fraction;
  s.mass_head = b.body_mass * part(Part::Head).mass_fraction;
  s.mass_upper_arm = b.body_mass * part(Part::UpperArm).mass_fraction;
  s.mass_forearm = b.body_mass * part(Part::Forearm).mass_fraction;
  s.mass_hand = b.body_mass * part(Part::Hand).mass_fraction;
  s.mass_thigh = b.body_mass * part(Part::Thigh).mass_fraction;
  s.mass_shank = b.body_mass * part(Part::Shank).mass_fraction;
  s.mass_foot = b.body_mass * part(Part::Foot).mass_fraction;
  s.mass_bar = model.setup().bar_mass;
  s.ground_force_per_foot = 0.5 * p.ground_force;
  const double cop = p.p_WCenterOfPressure.x();
  s.center_of_pressure = {cop, 0.0, 0.5 * model.setup().stance_width + cop * std::tan(toe)};
  s.seat_force = p.seat_force;
  s.gravity = kGravity;
  return s;
}

TEST(JointMoments, AgreeWithSimbodyToAMicronewtonMetre) {
  int compared = 0;
  double worst = 0.0;
  const auto compare = [&](const Eigen::Vector3d& ours, const Triple& theirs) {
    for (int k = 0; k < 3; ++k) {
      worst = std::max(worst, std::abs(ours(k) - theirs[static_cast<std::size_t>(k)]));
    }
  };
  for (std::uint64_t i = 0; compared < 260; ++i) {
    const Model model = test::random_posture_model(61, i);
    if (model.setup().bar_position != body::BarPosition::Overhead) continue;
    Random random(62, i);
    const Coordinates x = {random.uniform(0.1, 0.8),
                           random.uniform(-0.1, 0.1),
                           model.setup().depth / model.body().lengths[Segment::Thigh].value,
                           random.uniform(0.0, 0.9),
                           random.uniform(-0.2, 0.6),
                           random.uniform(-0.2, 0.4),
                           random.uniform(-0.2, 0.2)};
    const Posture p = evaluate_posture(model, x);
    if ((p.p_WKnee - p.p_WHip).norm() > model.body().lengths[Segment::Thigh].value + 1e-9) {
      continue;  // out of reach
    }
    const test::SimbodyMoments m = test::compute_simbody_moments(describe_squat(model, p));
    compare(p.moments.ankle, m.ankle);
    compare(p.moments.knee, m.knee);
    compare(p.moments.hip, m.hip);
    compare(p.moments.low_back, m.low_back);
    // About X the grip's side force, which statics alone cannot give, would enter.
    worst = std::max(worst, std::abs(p.moments.shoulder.z() - m.shoulder[2]));
    compare(Eigen::Vector3d::Zero(), m.root_moment);
    compare(Eigen::Vector3d::Zero(), m.root_force);
    for (int k = 0; k < 3; ++k) {
      EXPECT_NEAR(p.p_WAnkle(k), m.right_ankle[static_cast<std::size_t>(k)], 1e-9);
      EXPECT_NEAR(p.p_WHand(k), m.right_hand[static_cast<std::size_t>(k)], 1e-9);
    }
    ASSERT_LE(worst, 1e-6) << "posture " << i;
    ++compared;
  }
  std::cout << compared << " postures, largest difference " << worst << " N m (and N)\n";
  EXPECT_GE(compared, 200);
}

}  // namespace
}  // namespace lintel::posture
