#include "support/simbody_statics.h"

#include <vector>

#include <Simbody.h>

namespace lintel::test {
namespace {

using SimTK::MobilizedBody;
using SimTK::Rotation;
using SimTK::Transform;
using SimTK::Vec3;

Vec3 vec(const Triple& t) {
  return Vec3(t[0], t[1], t[2]);
}
Triple triple(const Vec3& v) {
  return {v[0], v[1], v[2]};
}

SimTK::Body::Rigid point_mass(double mass, const Vec3& center) {
  return SimTK::Body::Rigid(SimTK::MassProperties(mass, center, SimTK::Inertia(center, mass)));
}

// A rotation that takes -Y to the direction.
Rotation from_down(const Vec3& direction) {
  return Rotation(SimTK::UnitVec3(-direction), SimTK::YAxis);
}

// A ball joint whose child ends up with orientation R_WChild, at p in the parent.
MobilizedBody::Ball attach(MobilizedBody& parent, const Vec3& p, const SimTK::Body& body) {
  return MobilizedBody::Ball(parent, Transform(p), body, Transform());
}

}  // namespace

SimbodyMoments compute_simbody_moments(const SimbodySquat& s) {
  SimTK::MultibodySystem system;
  SimTK::SimbodyMatterSubsystem matter(system);
  SimTK::GeneralForceSubsystem forces(system);
  SimTK::Force::Gravity gravity(forces, matter, Vec3(0, -s.gravity, 0));

  MobilizedBody::Free pelvis(matter.Ground(), Transform(),
                             point_mass(s.mass_pelvis, Vec3(0, s.pelvis_center, 0)), Transform());
  auto lumbar = attach(pelvis, Vec3(0, s.pelvis_length, 0),
                       point_mass(s.mass_lumbar, Vec3(0, s.lumbar_center, 0)));
  auto thorax = attach(lumbar, Vec3(0, s.lumbar_length, 0),
                       point_mass(s.mass_thorax, Vec3(0, s.thorax_center, 0)));
  auto head = attach(thorax, Vec3(0, s.thorax_length, 0),
                     point_mass(s.mass_head, Vec3(0, s.head_center, 0)));
  std::vector<MobilizedBody::Ball> arm, thigh, shank, foot;
  const double length = s.upper_arm + s.forearm + s.grip;
  for (const double side : {1.0, -1.0}) {
    // Upper arm, forearm, hand and half the bar in one straight body along +Y.
    const double mass = s.mass_upper_arm + s.mass_forearm + s.mass_hand + 0.5 * s.mass_bar;
    const double first =
        s.mass_upper_arm * s.upper_arm_center + s.mass_forearm * (s.upper_arm + s.forearm_center) +
        s.mass_hand * (s.upper_arm + s.forearm + s.hand_center) + 0.5 * s.mass_bar * length;
    arm.push_back(attach(thorax, Vec3(0, s.thorax_length, side * s.half_shoulder),
                         point_mass(mass, Vec3(0, first / mass, 0))));
    thigh.push_back(attach(pelvis, Vec3(0, 0, side * s.half_hip),
                           point_mass(s.mass_thigh, Vec3(0, -s.thigh_center, 0))));
    shank.push_back(attach(thigh.back(), Vec3(0, -s.thigh_length, 0),
                           point_mass(s.mass_shank, Vec3(0, -s.shank_center, 0))));
    const Vec3 center(s.foot_center[0], s.foot_center[1], side * s.foot_center[2]);
    foot.push_back(
        attach(shank.back(), Vec3(0, -s.shank_length, 0), point_mass(s.mass_foot, center)));
  }
  SimTK::State state = system.realizeTopology();
  const auto about_z = [](double angle) { return Rotation(angle, SimTK::ZAxis); };
  const Rotation r_pelvis = about_z(-s.pelvis_inclination);
  const Rotation r_lumbar = about_z(-s.pelvis_inclination - s.lumbar_flexion);
  const Rotation r_thorax =
      about_z(-s.pelvis_inclination - s.lumbar_flexion + s.thoracic_extension);
  pelvis.setQToFitTransform(state, Transform(r_pelvis, vec(s.mid_hip)));
  lumbar.setQToFitRotation(state, ~r_pelvis * r_lumbar);
  thorax.setQToFitRotation(state, ~r_lumbar * r_thorax);
  head.setQToFitRotation(state, ~r_thorax * about_z(-s.head_inclination));
  for (int i = 0; i < 2; ++i) {
    const double side = i == 0 ? 1.0 : -1.0;
    const auto mirror = [side](const Triple& t) { return Vec3(t[0], t[1], side * t[2]); };
    const Rotation r_arm =
        about_z(-s.arm_inclination) * Rotation(side * s.arm_spread, SimTK::XAxis);
    arm[i].setQToFitRotation(state, ~r_thorax * r_arm);
    const Rotation r_thigh = from_down(mirror(s.thigh_direction));
    const Rotation r_shank = from_down(mirror(s.shank_direction));
    thigh[i].setQToFitRotation(state, ~r_pelvis * r_thigh);
    shank[i].setQToFitRotation(state, ~r_thigh * r_shank);
    foot[i].setQToFitRotation(state, ~r_shank);
  }
  system.realize(state, SimTK::Stage::Dynamics);

  SimTK::Vector_<SimTK::SpatialVec> loads =
      system.getRigidBodyForces(state, SimTK::Stage::Dynamics);
  const Vec3 ground(0, s.ground_force_per_foot, 0);
  for (int i = 0; i < 2; ++i) {
    const double side = i == 0 ? 1.0 : -1.0;
    const Vec3 at(s.center_of_pressure[0], s.center_of_pressure[1], side * s.center_of_pressure[2]);
    const Vec3 station = foot[i].findStationAtGroundPoint(state, at);
    matter.addInStationForce(state, foot[i].getMobilizedBodyIndex(), station, ground, loads);
  }
  matter.addInStationForce(state, pelvis.getMobilizedBodyIndex(), Vec3(0), Vec3(0, s.seat_force, 0),
                           loads);
  SimTK::Vector residual;
  matter.calcResidualForceIgnoringConstraints(state, SimTK::Vector(state.getNU(), 0.0), loads,
                                              SimTK::Vector(state.getNU(), 0.0), residual);
  // The residual of a ball joint is the moment on the child, in the parent's frame.
  const auto moment = [&](const MobilizedBody& parent, const MobilizedBody& child) {
    const int u = child.getFirstUIndex(state);
    return parent.getBodyRotation(state) * Vec3(residual[u], residual[u + 1], residual[u + 2]);
  };
  SimbodyMoments out;
  out.ankle = triple(-moment(shank[0], foot[0]));
  out.knee = triple(-moment(thigh[0], shank[0]));
  out.hip = triple(-moment(pelvis, thigh[0]));
  out.low_back = triple(moment(pelvis, lumbar));
  out.shoulder = triple(moment(thorax, arm[0]));
  const int root = pelvis.getFirstUIndex(state);
  out.root_moment = {residual[root], residual[root + 1], residual[root + 2]};
  out.root_force = {residual[root + 3], residual[root + 4], residual[root + 5]};
  out.right_ankle = triple(foot[0].getBodyOriginLocation(state));
  out.right_hand = triple(arm[0].findStationLocationInGround(state, Vec3(0, length, 0)));
  return out;
}

}  // namespace lintel::test
