// A posture in full from its coordinates: positions by plain vectors, moments as cross products of
// forces and levers. Written apart from the separable formulas of statics.h, so that the tests can
// compare the two.
#include <cmath>
#include <numbers>

#include <Eigen/Geometry>

#include "posture/problem.h"

namespace lintel::posture {
namespace {

using Eigen::Vector3d;

Vector3d in_sagittal(double length, double inclination) {
  return {length * std::sin(inclination), length * std::cos(inclination), 0.0};
}

// One vertical force [N] at a point.
struct Load {
  Vector3d at;
  double force;  // upwards positive
};

template <std::size_t N>
Vector3d moment_about(const Vector3d& center, const std::array<Load, N>& loads) {
  Vector3d sum = Vector3d::Zero();
  for (const Load& load : loads) {
    sum += (load.at - center).cross(Vector3d(0.0, load.force, 0.0));
  }
  return sum;
}

struct Trunk {
  Vector3d center_pelvis, center_lumbar, center_thorax, center_head, center_arms;
};

void place_legs(const Skeleton<double>& k, const Coordinates& x, Posture& p) {
  const double sigma = x[0] + k.pitch;
  const Vector3d along(k.cos_toe, 0.0, k.sin_toe);
  const Vector3d outward(-k.sin_toe, 0.0, k.cos_toe);
  const Vector3d ankle(0.0, k.ankle_y, k.half_stance);
  const Vector3d shank = std::sin(sigma) * std::cos(x[1]) * along +
                         std::cos(sigma) * std::cos(x[1]) * Vector3d::UnitY() +
                         std::sin(x[1]) * outward;
  p.p_WAnkle = ankle;
  p.p_WKnee = ankle + k.shank * shank;
  const double drop = k.on_surface ? p.p_WKnee.y() - k.hip_height : x[2] * k.thigh;
  const double out = p.p_WKnee.z() - k.half_hip;
  const double square =
      std::max(kLeastReach * k.thigh * k.thigh * 1e-3, k.thigh * k.thigh - out * out - drop * drop);
  p.p_WHip = {p.p_WKnee.x() - std::sqrt(square), p.p_WKnee.y() - drop, k.half_hip};
  const Vector3d base(0.0, 0.0, k.half_stance);
  p.p_WHeel = base + k.heel_u * along;
  p.p_WToe = base + k.toe_u * along;
  p.p_WMidFoot = base + k.mid_foot_u * along;
  p.foot_pitch = k.pitch;
  p.ankle_dorsiflexion = x[0];
  p.depth = drop;
  p.hip_height = p.p_WHip.y();
  p.shank_inclination = std::atan2(p.p_WKnee.x(), p.p_WKnee.y() - ankle.y());
  p.thigh_inclination = std::atan2(p.p_WKnee.x() - p.p_WHip.x(), p.p_WHip.y() - p.p_WKnee.y());
  const Vector3d thigh_up = (p.p_WHip - p.p_WKnee).normalized();
  const Vector3d axis = shank.cross(thigh_up);
  p.knee_flexion = std::atan2(axis.norm(), shank.dot(thigh_up));
  p.hip_abduction = std::asin(-thigh_up.z());
  const Vector3d zero_z = (Vector3d::UnitZ() - thigh_up.z() * thigh_up).normalized();
  p.hip_external_rotation = std::atan2(-axis.dot(thigh_up.cross(zero_z)), axis.dot(zero_z));
  const Vector3d down = -thigh_up;
  p.hip_flexion = std::atan2(down.x(), -down.y()) + x[3];
}

Trunk place_trunk(const Skeleton<double>& k, const Weights<double>& w, const Coordinates& x,
                  body::BarPosition bar, Posture& p) {
  Trunk t;
  const Vector3d mid_hip(p.p_WHip.x(), p.p_WHip.y(), 0.0);
  p.pelvis_inclination = x[3];
  p.lumbar_inclination = x[3] + x[4];
  p.thorax_inclination = x[3] + x[4] - x[5];
  p.arm_inclination = x[6];
  p.p_WLumbar = mid_hip + in_sagittal(k.pelvis, p.pelvis_inclination);
  p.p_WThorax = p.p_WLumbar + in_sagittal(k.lumbar, p.lumbar_inclination);
  const Vector3d mid_shoulder = p.p_WThorax + in_sagittal(k.thorax, p.thorax_inclination);
  t.center_pelvis = mid_hip + in_sagittal(w.pelvis_center, p.pelvis_inclination);
  t.center_lumbar = p.p_WLumbar + in_sagittal(w.lumbar_center, p.lumbar_inclination);
  t.center_thorax = p.p_WThorax + in_sagittal(w.thorax_center, p.thorax_inclination);
  const double head = k.head_follows * p.thorax_inclination;
  t.center_head = mid_shoulder + in_sagittal(w.head_center, head);
  p.p_WVertex = mid_shoulder + in_sagittal(w.head_center, head);
  const Vector3d trunk = mid_shoulder - mid_hip;
  p.trunk_inclination = std::atan2(trunk.x(), trunk.y());
  p.p_WBar = mid_shoulder;
  t.center_arms = mid_shoulder;
  if (k.overhead) {
    const Vector3d arm = k.cos_spread * in_sagittal(1.0, p.arm_inclination);
    p.p_WBar = mid_shoulder + k.arm * arm;
    if (w.arms > 0.0) t.center_arms = mid_shoulder + (w.arm_moment / w.arms) * arm;
  } else {
    p.p_WBar = mid_shoulder + in_sagittal(k.bar_along, p.thorax_inclination) +
               k.bar_normal *
                   Vector3d(std::cos(p.thorax_inclination), -std::sin(p.thorax_inclination), 0.0);
  }
  if (bar == body::BarPosition::None) p.p_WBar = mid_shoulder;
  p.arm_spread = k.spread;
  p.shoulder_elevation = std::numbers::pi + p.thorax_inclination - p.arm_inclination;
  p.bar_ahead_of_shoulder = p.p_WBar.x() - mid_shoulder.x();
  p.bar_ahead_of_mid_foot = p.p_WBar.x() - p.p_WMidFoot.x();
  return t;
}

void place_arms(const BodyParameters& body, const Skeleton<double>& k, Posture& p) {
  const double half = 0.5 * body.lengths[body::Segment::InterShoulder].value;
  const Vector3d mid_shoulder = p.p_WThorax + in_sagittal(k.thorax, p.thorax_inclination);
  p.p_WShoulder = mid_shoulder + half * Vector3d::UnitZ();
  Vector3d direction =
      k.cos_spread * in_sagittal(1.0, p.arm_inclination) + k.sin_spread * Vector3d::UnitZ();
  if (!k.overhead) {
    // For drawing only: elbows bent, hands beside the shoulders on the bar.
    p.p_WHand = p.p_WBar + (half + 0.1) * Vector3d::UnitZ();
    p.p_WElbow = p.p_WShoulder + in_sagittal(-body.lengths[body::Segment::UpperArm].value,
                                             p.thorax_inclination - 0.3);
    p.p_WWrist = p.p_WHand;
    return;
  }
  const double upper = body.lengths[body::Segment::UpperArm].value;
  const double fore = body.lengths[body::Segment::Forearm].value;
  p.p_WElbow = p.p_WShoulder + upper * direction;
  p.p_WWrist = p.p_WShoulder + (upper + fore) * direction;
  p.p_WHand = p.p_WShoulder + k.arm * direction;
}

void weigh(const Skeleton<double>& k, const Weights<double>& w, const Trunk& t,
           const Capacities& capacity, Posture& p) {
  const Vector3d along(k.cos_toe, 0.0, k.sin_toe);
  const Vector3d foot = Vector3d(0.0, 0.0, k.half_stance) + k.foot_center_u * along;
  const Vector3d shank = p.p_WKnee + w.shank_center * (p.p_WAnkle - p.p_WKnee);
  const Vector3d thigh = p.p_WHip + w.thigh_center * (p.p_WKnee - p.p_WHip);
  const Vector3d mid_hip(p.p_WHip.x(), p.p_WHip.y(), 0.0);
  const auto sagittal = [](const Vector3d& v) { return Vector3d(v.x(), v.y(), 0.0); };
  Vector3d sum =
      2.0 * (w.foot * sagittal(foot) + w.shank * sagittal(shank) + w.thigh * sagittal(thigh));
  sum += w.pelvis * t.center_pelvis + w.lumbar * t.center_lumbar + w.thorax * t.center_thorax +
         w.head * t.center_head + w.arms * t.center_arms + w.bar * p.p_WBar;
  p.p_WCenterOfMass = sum / w.total;
  p.seat_force = w.seat_share * w.total;
  p.ground_force = w.total - p.seat_force;
  const double cop =
      (w.total * p.p_WCenterOfMass.x() - p.seat_force * mid_hip.x()) / p.ground_force;
  p.p_WCenterOfPressure = {cop, 0.0, 0.0};
  p.center_of_pressure = cop - p.p_WMidFoot.x();
  const Vector3d under_foot = Vector3d(0.0, 0.0, k.half_stance) + (cop / k.cos_toe) * along;
  const std::array<Load, 4> below = {
      {{under_foot, 0.5 * p.ground_force}, {foot, -w.foot}, {shank, -w.shank}, {thigh, -w.thigh}}};
  // The muscles balance the loads on the far side of the joint.
  JointMoments& m = p.moments;
  m.ankle = moment_about<2>(p.p_WAnkle, {below[0], below[1]});
  m.knee = moment_about<3>(p.p_WKnee, {below[0], below[1], below[2]});
  m.hip = moment_about<4>(p.p_WHip, below);
  const std::array<Load, 5> above_lumbar = {{{t.center_lumbar, -w.lumbar},
                                             {t.center_thorax, -w.thorax},
                                             {t.center_head, -w.head},
                                             {t.center_arms, -w.arms},
                                             {p.p_WBar, -w.bar}}};
  m.low_back = -moment_about<5>(p.p_WLumbar, above_lumbar);
  const Vector3d mid_shoulder = p.p_WShoulder - p.p_WShoulder.z() * Vector3d::UnitZ();
  m.shoulder.setZero();
  if (k.overhead) {
    m.shoulder = -0.5 * moment_about<2>(mid_shoulder, {above_lumbar[3], above_lumbar[4]});
  }
  // X forward, Z right: a moment about +Z turns X towards Y. On the shank a ground force ahead of
  // the ankle turns the foot up (+Z): plantar flexors answer.
  const Vector3d foot_axis(-k.sin_toe, 0.0, k.cos_toe);
  m.ankle_plantarflexion = m.ankle.dot(foot_axis);
  m.knee_extension = -m.knee.z();
  m.hip_extension = m.hip.z();
  m.low_back_extension = m.low_back.z();
  m.shoulder_flexion = m.shoulder.z();
  const auto square = [](double moment, double limit) { return moment * moment / (limit * limit); };
  p.effort = square(m.ankle_plantarflexion, capacity.ankle) + square(m.knee.z(), capacity.knee) +
             square(m.knee.x(), capacity.knee) + square(m.hip.z(), capacity.hip) +
             square(m.hip.x(), capacity.hip) + square(m.low_back.z(), capacity.low_back) +
             square(m.shoulder.z(), capacity.shoulder);
}

}  // namespace

Posture evaluate_posture(const Model& model, const Coordinates& coordinates) {
  const Inputs<double> in = make_inputs<double>(model);
  const Skeleton<double> k = make_skeleton(model.body(), model.setup(), in);
  const Weights<double> w = make_weights(model.body(), model.setup(), in);
  Posture p;
  p.coordinates = coordinates;
  place_legs(k, coordinates, p);
  const Trunk trunk = place_trunk(k, w, coordinates, model.setup().bar_position, p);
  const double head = k.head_follows * p.thorax_inclination;
  p.p_WVertex = p.p_WThorax + in_sagittal(k.thorax, p.thorax_inclination) +
                in_sagittal(model.body().lengths[body::Segment::HeadNeck].value, head);
  place_arms(model.body(), k, p);
  weigh(k, w, trunk, model.body().capacities, p);
  return p;
}

}  // namespace lintel::posture
