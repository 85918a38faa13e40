// The skeleton: unknowns and forward kinematics, templated so that derivatives can be taken.
//
// Canonical frame: the athlete faces +X and the picture's right, Y up, Z towards the camera (the
// near side). Clips that face left are mirrored before and after. Origin: on the floor between the
// balls of the feet. Left and right legs and arms mirror each other in the plane Z = 0.
#pragma once

#include <array>
#include <cmath>

#include <Eigen/Core>

#include "fitting/fit.h"
#include "kinematics/pinhole.h"

namespace lintel::fitting {

// Unknowns of one instant (cubic B-splines over time).
enum Pose : int {
  kFootPitch,    // heel up positive [rad]
  kShank,        // tilt forward out of the frontal plane: knee ahead of ankle by shank * sin
  kThigh,        // angle in space between the thigh and the line of the straight leg
  kSpread,       // azimuth of the thigh about that line: 0 = knee straight ahead, pi/2 = sideways
  kTrunk,        // forward positive
  kUpperArm,     // shoulder to elbow from vertical up, forward positive
  kElbow,        // flexion; the forearm's inclination is that of the upper arm minus this
  kTrunkLength,  // [m] added to the trunk: spine bending, shoulder girdle rising
  kDriftX,       // [m] feet (or camera) creeping
  kDriftY,       // [m]
  kPoseSize
};

// Unknowns of the whole clip: the order of GlobalQuantity; distance, focal length and disc scale
// as logarithms.
inline constexpr int kGlobalSize = kGlobalQuantityCount;
inline constexpr int kOffsetSize = 4;  // across, along (standing); across, along per unit flexion

constexpr int at(GlobalQuantity quantity) {
  return static_cast<int>(quantity);
}

// Heights of the landmarks of the shoe above its sole, in the standing foot [m]; what is wrong with
// them goes into the landmark's own offset. Common practice, no source.
inline constexpr double kHeelLandmarkHeight = 0.03;
inline constexpr double kToeLandmarkHeight = 0.02;

// What is not estimated.
struct ModelConstants {
  BarPosition bar_position = BarPosition::Overhead;
  double grip = 0;         // [m] wrist centre to bar
  double foot_length = 0;  // [m]
  double head_neck = 0;    // [m]
  double disc_radius = 0;  // [m]; 0 = none
  Eigen::Vector2d principal_px{0, 0};
};

template <typename T>
using Vector2 = Eigen::Matrix<T, 2, 1>;
template <typename T>
using Vector3 = Eigen::Matrix<T, 3, 1>;

// Square root that stays smooth and positive when a projected length would vanish.
template <typename T>
T smooth_sqrt(const T& x) {
  using std::sqrt;
  constexpr double kFloor = 1e-5;  // [m^2]: lengths above 5 cm change by less than 1e-8
  return sqrt(0.5 * (x + sqrt(x * x + kFloor * kFloor)) + 1e-12);
}

// Inclination to unit vectors: along (pi/2 ahead = forward) and across (forward when upright).
template <typename T>
Vector2<T> along(const T& inclination) {
  using std::cos;
  using std::sin;
  return {T(sin(inclination)), T(cos(inclination))};
}
template <typename T>
Vector2<T> across(const T& inclination) {
  using std::cos;
  using std::sin;
  return {T(cos(inclination)), T(-sin(inclination))};
}

// 0 standing .. 1 fully flexed; carries the network's bias that grows towards the bottom.
template <typename T>
T flexion_share(const T* q) {
  using std::cos;
  return 0.5 * (1.0 - cos(q[kShank] + q[kThigh]));
}

// One side's chain. Sagittal parts are common to both sides; z is for the near side (positive).
template <typename T>
class Chain {
 public:
  Chain(const T* q, const T* g, const ModelConstants& constants)
      : q_(q), g_(g), constants_(constants) {}

  void place_foot() {
    using std::cos;
    using std::sin;
    const T length = global(GlobalQuantity::AnkleToBall);
    const T height = global(GlobalQuantity::AnkleHeight);
    const T cu = cos(global(GlobalQuantity::ToeOut)), su = sin(global(GlobalQuantity::ToeOut));
    const T cp = cos(q_[kFootPitch]), sp = sin(q_[kFootPitch]);
    const T behind_ankle = length * cp - height * sp;
    const T reach = length + global(GlobalQuantity::HeelToAnkle);
    const T behind_heel = reach * cp - kHeelLandmarkHeight * sp;
    const T z_ball = 0.5 * global(GlobalQuantity::StanceWidth) + length * su;
    ball = {q_[kDriftX], q_[kDriftY], z_ball};
    toe = {T(ball.x() + kToeLandmarkHeight * sp), T(ball.y() + kToeLandmarkHeight * cp), z_ball};
    ankle = {T(ball.x() - behind_ankle * cu), T(ball.y() + length * sp + height * cp),
             T(z_ball - behind_ankle * su)};
    heel = {T(ball.x() - behind_heel * cu), T(ball.y() + reach * sp + kHeelLandmarkHeight * cp),
            T(z_ball - behind_heel * su)};
  }
  // Closure: the hip lies at half the inter-hip distance and the ankle at half the stance, so the
  // thigh's direction fixes how far out the knee is, and that how much the shank leans sideways.
  void place_knee() {
    using std::cos;
    using std::sin;
    const T thigh = global(GlobalQuantity::Thigh), shank = global(GlobalQuantity::Shank);
    const T half_hips = 0.5 * global(GlobalQuantity::InterHip);
    // Straight leg from ankle to hip in the frontal plane.
    const T tilt = (0.5 * global(GlobalQuantity::StanceWidth) - half_hips) / (thigh + shank);
    const T upright = smooth_sqrt(T(1.0 - tilt * tilt));
    const T level = sin(q_[kThigh]), rise = cos(q_[kThigh]);
    const T out = level * sin(q_[kSpread]);
    thigh_ = {T(-thigh * level * cos(q_[kSpread])), T(thigh * (rise * upright - out * tilt)),
              T(-thigh * (rise * tilt + out * upright))};
    const T z_knee = half_hips - thigh_.z();
    const T dz = z_knee - ankle.z();
    const T dx = shank * sin(q_[kShank]);
    knee = {T(ankle.x() + dx), T(ankle.y() + smooth_sqrt(T(shank * shank - dx * dx - dz * dz))),
            z_knee};
  }
  void place_hip() { hip = knee + thigh_; }
  void place_shoulder() {
    const T length = global(GlobalQuantity::Trunk) + q_[kTrunkLength];
    const Vector2<T> direction = along(q_[kTrunk]);
    shoulder = {T(hip.x() + length * direction.x()), T(hip.y() + length * direction.y()),
                T(0.5 * global(GlobalQuantity::InterShoulder))};
  }
  void place_arm() {
    const T arm =
        global(GlobalQuantity::UpperArm) + global(GlobalQuantity::Forearm) + constants_.grip;
    const T spread =
        0.5 * (global(GlobalQuantity::GripWidth) - global(GlobalQuantity::InterShoulder)) / arm;
    const T projected = smooth_sqrt(T(1.0 - spread * spread));
    const T upper = global(GlobalQuantity::UpperArm), fore = global(GlobalQuantity::Forearm);
    const Vector2<T> a = along(q_[kUpperArm]);
    const Vector2<T> f = along(T(q_[kUpperArm] - q_[kElbow]));
    elbow = {T(shoulder.x() + upper * projected * a.x()),
             T(shoulder.y() + upper * projected * a.y()), T(shoulder.z() + upper * spread)};
    wrist = {T(elbow.x() + fore * projected * f.x()), T(elbow.y() + fore * projected * f.y()),
             T(elbow.z() + fore * spread)};
    hand = {T(wrist.x() + constants_.grip * projected * f.x()),
            T(wrist.y() + constants_.grip * projected * f.y()),
            T(wrist.z() + constants_.grip * spread)};
  }
  // Sagittal place of the bar's centre line; needs the shoulder, and the arm when overhead.
  Vector2<T> bar() const {
    if (constants_.bar_position == BarPosition::Back ||
        constants_.bar_position == BarPosition::Front) {
      const Vector2<T> up = along(q_[kTrunk]), forward = across(q_[kTrunk]);
      const T ahead = global(GlobalQuantity::BarOffsetForward);
      const T above = global(GlobalQuantity::BarOffsetUp);
      return {T(shoulder.x() + ahead * forward.x() + above * up.x()),
              T(shoulder.y() + ahead * forward.y() + above * up.y())};
    }
    return {hand.x(), hand.y()};
  }
  bool bar_on_arms() const {
    return constants_.bar_position == BarPosition::Overhead ||
           constants_.bar_position == BarPosition::None;
  }
  void place_all() {
    place_foot();
    place_knee();
    place_hip();
    place_shoulder();
    place_arm();
  }
  T mid_foot() const {
    using std::cos;
    return ball.x() + (0.5 * constants_.foot_length - global(GlobalQuantity::AnkleToBall) -
                       global(GlobalQuantity::HeelToAnkle)) *
                          cos(global(GlobalQuantity::ToeOut));
  }

  Vector3<T> ball, toe, heel, ankle, knee, hip, shoulder, elbow, wrist, hand;

 private:
  const T& global(GlobalQuantity quantity) const { return g_[at(quantity)]; }
  const T* q_;
  const T* g_;
  const ModelConstants& constants_;
  Vector3<T> thigh_;  // knee to hip
};

// How much of the feet's stagger (near foot ahead) a landmark takes part in.
constexpr double stagger_share(FittedLandmark landmark) {
  switch (landmark) {
    case FittedLandmark::Ankle:
    case FittedLandmark::Heel:
    case FittedLandmark::Toe:
      return 0.5;
    case FittedLandmark::Knee:
      return 0.25;
    default:
      return 0.0;
  }
}

// Joint of the near side (for a landmark) and the inclination of the segment that carries it.
template <typename T>
struct Carried {
  Vector3<T> joint;
  T inclination;
};
template <typename T>
Carried<T> carried_joint(FittedLandmark landmark, const T* q, const T* g,
                         const ModelConstants& constants) {
  Chain<T> chain(q, g, constants);
  chain.place_foot();
  if (landmark == FittedLandmark::Toe) return {chain.toe, q[kFootPitch]};
  if (landmark == FittedLandmark::Heel) return {chain.heel, q[kFootPitch]};
  if (landmark == FittedLandmark::Ankle) return {chain.ankle, q[kFootPitch]};
  chain.place_knee();
  // Along the thigh: the network errs towards the hip when the knee is bent.
  if (landmark == FittedLandmark::Knee) return {chain.knee, T(-q[kThigh])};
  chain.place_hip();
  if (landmark == FittedLandmark::Hip) return {chain.hip, q[kTrunk]};
  chain.place_shoulder();
  if (landmark == FittedLandmark::Shoulder) return {chain.shoulder, q[kTrunk]};
  chain.place_arm();
  if (landmark == FittedLandmark::Elbow) return {chain.elbow, q[kUpperArm]};
  return {chain.wrist, T(q[kUpperArm] - q[kElbow])};
}

// Where a landmark lies in W: joint plus its offset (standing part and flexion part).
template <typename T>
Vector3<T> landmark_point(FittedLandmark landmark, double side, const T* q, const T* g, const T* o,
                          const ModelConstants& constants) {
  const Carried<T> carried = carried_joint(landmark, q, g, constants);
  const T s = flexion_share(q);
  const Vector2<T> forward = across(carried.inclination), up = along(carried.inclination);
  const T a = o[0] + s * o[2], b = o[1] + s * o[3];
  const T stagger = side * stagger_share(landmark) * g[at(GlobalQuantity::FootStagger)];
  return {T(carried.joint.x() + stagger + a * forward.x() + b * up.x()),
          T(carried.joint.y() + a * forward.y() + b * up.y()), T(side * carried.joint.z())};
}

template <typename T>
kinematics::PinholeCamera<T> camera_of(const T* g, const ModelConstants& constants) {
  using std::exp;
  kinematics::PinholeCamera<T> camera;
  camera.side = kinematics::BodySide::Right;
  camera.yaw = g[at(GlobalQuantity::Yaw)];
  camera.pitch = g[at(GlobalQuantity::Pitch)];
  camera.roll = g[at(GlobalQuantity::Roll)];
  camera.distance = exp(g[at(GlobalQuantity::CameraDistance)]);
  camera.height = g[at(GlobalQuantity::CameraHeight)];
  camera.aim = g[at(GlobalQuantity::CameraAim)];
  camera.focal_px = exp(g[at(GlobalQuantity::FocalLength)]);
  camera.principal_px = constants.principal_px;
  return camera;
}

// Picture of the near disc: centre of the ellipse and its shape matrix S (points x of the rim obey
// (x - c)^T S^-1 (x - c) = 1), from the dual conic of the projected circle.
template <typename T>
struct DiscPicture {
  Vector2<T> center;
  T sxx, sxy, syy;
};
template <typename T>
DiscPicture<T> project_disc(const Vector2<T>& bar, const T* g, const ModelConstants& constants) {
  using std::cos;
  using std::exp;
  using std::sin;
  const kinematics::PinholeCamera<T> camera = camera_of(g, constants);
  const Vector3<T> middle{bar.x(), bar.y(), g[at(GlobalQuantity::DiscPlaneOffset)]};
  const Vector3<T> p = in_camera(camera, middle);
  const Vector3<T> ex = in_camera(camera, Vector3<T>(middle + Vector3<T>(T(1), T(0), T(0)))) - p;
  const Vector3<T> ey = in_camera(camera, Vector3<T>(middle + Vector3<T>(T(0), T(1), T(0)))) - p;
  const T cr = cos(camera.roll), sr = sin(camera.roll);
  const auto in_picture = [&](const Vector3<T>& c) {  // homogeneous picture coordinates
    const T u = camera.focal_px * c.x(), v = -camera.focal_px * c.y();
    return Vector3<T>(T(cr * u - sr * v), T(sr * u + cr * v), c.z());
  };
  const Vector3<T> h1 = in_picture(ex), h2 = in_picture(ey), h3 = in_picture(p);
  const T r = constants.disc_radius * exp(g[at(GlobalQuantity::DiscScale)]);
  const T r2 = r * r;
  const auto dual = [&](int i, int j) {
    return T(r2 * (h1[i] * h1[j] + h2[i] * h2[j]) - h3[i] * h3[j]);
  };
  const T scale = -1.0 / dual(2, 2);
  const T mx = -dual(0, 2) * scale, my = -dual(1, 2) * scale;
  // Tyre wear, shading at the rim: the seen aspect may be off by a per cent.
  const T aspect = exp(g[at(GlobalQuantity::DiscAspect)]);
  DiscPicture<T> picture;
  picture.center = {T(constants.principal_px.x() + mx), T(constants.principal_px.y() + my)};
  picture.sxx = (dual(0, 0) * scale + mx * mx) * aspect;
  picture.sxy = dual(0, 1) * scale + mx * my;
  picture.syy = (dual(1, 1) * scale + my * my) / aspect;
  return picture;
}

// Centre of mass of athlete and bar in the sagittal plane, both sides together.
template <typename T>
Vector2<T> center_of_mass(const Chain<T>& chain, const T* q, const MassModel& masses,
                          const ModelConstants& constants) {
  T total = T(0), x = T(0), y = T(0);
  const auto add = [&](const SegmentMass& mass, const auto& from, const auto& to) {
    const T w = T(mass.mass_fraction * masses.body_mass);
    x += w * (from.x() + mass.center_fraction * (to.x() - from.x()));
    y += w * (from.y() + mass.center_fraction * (to.y() - from.y()));
    total += w;
  };
  const Vector2<T> up = along(q[kTrunk]);
  const Vector2<T> vertex{T(chain.shoulder.x() + constants.head_neck * up.x()),
                          T(chain.shoulder.y() + constants.head_neck * up.y())};
  add(masses.foot, chain.heel, chain.toe);
  add(masses.shank, chain.knee, chain.ankle);
  add(masses.thigh, chain.hip, chain.knee);
  add(masses.trunk, chain.shoulder, chain.hip);
  add(masses.head, vertex, chain.shoulder);
  add(masses.upper_arm, chain.shoulder, chain.elbow);
  add(masses.forearm_hand, chain.elbow, chain.wrist);
  if (masses.bar_mass > 0 && constants.bar_position != BarPosition::None) {
    const Vector2<T> bar = chain.bar();
    x += masses.bar_mass * bar.x();
    y += masses.bar_mass * bar.y();
    total += T(masses.bar_mass);
  }
  return {T(x / total), T(y / total)};
}

}  // namespace lintel::fitting
