// An invented lifter in front of a pinhole camera: landmarks with known truth. The kinematics are
// written out here once more, apart from the module's own, as an independent formulation.
#pragma once

#include <array>
#include <cmath>
#include <optional>
#include <vector>

#include <Eigen/Dense>

#include "base/random.h"
#include "fitting/fit.h"
#include "kinematics/pinhole.h"

namespace lintel::fitting::testing {

using kinematics::BodySide;
using kinematics::Landmark;

inline constexpr double kDegree = kRadiansPerDegree;

// Joints of one side [m], W: X forward, Y up, Z to the athlete's right.
struct Limb {
  Eigen::Vector3d shoulder, elbow, wrist, hip, knee, ankle, heel, toe;
};
struct Body3d {
  Limb left, right;
  std::optional<Eigen::Vector3d> bar;  // centre of the bar
};

struct Lifter {
  double shank = 0.43, thigh = 0.42, trunk = 0.51, upper_arm = 0.28, forearm = 0.26, grip = 0.07;
  double foot = 0.26, ankle_height = 0.07, heel_to_ankle = 0.05;
  double inter_hip = 0.18, inter_shoulder = 0.36, head_neck = 0.27;
  double stance = 0.35, toe_out = 15 * kDegree, grip_width = 0.80;
  double disc_radius = 0.225, disc_plane = 0.70;

  body::SegmentLengths lengths(double relative_error) const {
    using body::Segment;
    body::SegmentLengths out;
    const auto set = [&](Segment segment, double value) {
      out[segment] = {value, relative_error * value};
    };
    set(Segment::Shank, shank);
    set(Segment::Thigh, thigh);
    set(Segment::Trunk, trunk);
    set(Segment::UpperArm, upper_arm);
    set(Segment::Forearm, forearm);
    set(Segment::Grip, grip);
    set(Segment::Foot, foot);
    set(Segment::AnkleHeight, ankle_height);
    set(Segment::HeelToAnkle, heel_to_ankle);
    set(Segment::InterHip, inter_hip);
    set(Segment::InterShoulder, inter_shoulder);
    set(Segment::HeadNeck, head_neck);
    return out;
  }
};

// Sagittal inclinations of one instant [rad], conventions of measurement.h.
struct Posture {
  double foot = 0, shank = 0, thigh = 0, trunk = 0, arm = 0;
};

// Squat to depth 1 and back; s in 0..1. The bar stays above mid-foot, 1 cm ahead.
inline Posture squat_posture(const Lifter& lifter, double s);

inline Limb limb_of(const Lifter& l, const Posture& p, double side) {
  using std::cos;
  using std::sin;
  using std::sqrt;
  const auto up = [](double a) { return Eigen::Vector3d(sin(a), cos(a), 0); };
  const Eigen::Vector3d along(cos(l.toe_out), 0, side * sin(l.toe_out));
  const Eigen::Vector3d y(0, 1, 0);
  const double to_ball = 0.78 * l.foot - l.heel_to_ankle;
  // Foot turned about its ball: forward becomes forward and down, up becomes up and forward.
  const Eigen::Vector3d foot_forward = cos(p.foot) * along - sin(p.foot) * y;
  const Eigen::Vector3d foot_up = sin(p.foot) * along + cos(p.foot) * y;
  const Eigen::Vector3d ball(0, 0, side * (0.5 * l.stance + to_ball * sin(l.toe_out)));
  Limb limb;
  limb.toe = ball + 0.02 * Eigen::Vector3d(sin(p.foot), cos(p.foot), 0);
  limb.ankle = ball - to_ball * foot_forward + l.ankle_height * foot_up;
  limb.heel = ball - (to_ball + l.heel_to_ankle) * foot_forward + 0.03 * foot_up;
  // Knee in the vertical plane over the foot: dz = tan(toe_out) * dx.
  const double t = std::tan(l.toe_out);
  const double dx = l.shank * sin(p.shank) / sqrt(1 + t * t * sin(p.shank) * sin(p.shank));
  const double dz = t * dx;
  const double rise = sqrt(l.shank * l.shank - dx * dx - dz * dz);
  limb.knee = limb.ankle + Eigen::Vector3d(dx, rise, side * dz);
  const double hip_z = side * 0.5 * l.inter_hip;
  const double across = limb.knee.z() - hip_z;
  const double projected = sqrt(l.thigh * l.thigh - across * across);
  limb.hip = limb.knee + projected * Eigen::Vector3d(-sin(p.thigh), cos(p.thigh), 0);
  limb.hip.z() = hip_z;
  limb.shoulder = limb.hip + l.trunk * up(p.trunk);
  limb.shoulder.z() = side * 0.5 * l.inter_shoulder;
  const double arm = l.upper_arm + l.forearm + l.grip;
  const double spread = 0.5 * (l.grip_width - l.inter_shoulder) / arm;
  const Eigen::Vector3d direction =
      sqrt(1 - spread * spread) * up(p.arm) + Eigen::Vector3d(0, 0, side * spread);
  limb.elbow = limb.shoulder + l.upper_arm * direction;
  limb.wrist = limb.shoulder + (l.upper_arm + l.forearm) * direction;
  return limb;
}

inline Body3d body_of(const Lifter& l, const Posture& p) {
  Body3d body{limb_of(l, p, -1), limb_of(l, p, 1), {}};
  const double arm = l.upper_arm + l.forearm + l.grip;
  const double spread = 0.5 * (l.grip_width - l.inter_shoulder) / arm;
  const double reach = arm * std::sqrt(1 - spread * spread);
  body.bar = Eigen::Vector3d(body.right.shoulder.x() + reach * std::sin(p.arm),
                             body.right.shoulder.y() + reach * std::cos(p.arm), 0);
  return body;
}

inline double mid_foot_x(const Lifter& l) {
  const double to_ball = 0.78 * l.foot - l.heel_to_ankle;
  return (0.5 * l.foot - to_ball - l.heel_to_ankle) * std::cos(l.toe_out);
}

inline Posture squat_posture(const Lifter& lifter, double s) {
  Posture p;
  p.shank = (2 + 33 * s) * kDegree;
  p.thigh = (1 + 97 * s) * kDegree;
  p.trunk = (3 + 32 * s) * kDegree;
  const Body3d body = body_of(lifter, p);
  const double arm = lifter.upper_arm + lifter.forearm + lifter.grip;
  const double spread = 0.5 * (lifter.grip_width - lifter.inter_shoulder) / arm;
  const double reach = arm * std::sqrt(1 - spread * spread);
  p.arm = std::asin((mid_foot_x(lifter) + 0.01 - body.right.shoulder.x()) / reach);
  return p;
}

// 0.6 s of standing, down in 1.3 s, 0.3 s of rest, up in 1.2 s, standing again.
inline double squat_depth(double t) {
  const auto ramp = [](double x) {
    x = std::clamp(x, 0.0, 1.0);
    return 0.5 * (1 - std::cos(x * 3.141592653589793));
  };
  return ramp((t - 0.6) / 1.3) - ramp((t - 2.2) / 1.2);
}

// Errors of the landmarks [m in the body's plane], SD of each coordinate.
struct Noise {
  double white = 0.010 / 1.4142, drift = 0.015 / 1.4142, fixed = 0.010 / 1.4142;
  double correlation_time = 0.3;  // [s] of the drift, AR(1)
  double outlier_share = 0, outlier_size = 0.30;
  double disc_px = 0.7;
  // Added at full flexion, in W [m]: what the network is known to do at the bottom.
  Eigen::Vector3d knee_bias{0, 0, 0}, hip_bias{0, 0, 0};
  static Noise none() {
    Noise noise;
    noise.white = noise.drift = noise.fixed = noise.disc_px = 0;
    return noise;
  }
};

inline Eigen::Vector3d point_of(const Limb& limb, int k) {
  const std::array<const Eigen::Vector3d*, 8> points = {&limb.shoulder, &limb.elbow, &limb.wrist,
                                                        &limb.hip,      &limb.knee,  &limb.ankle,
                                                        &limb.heel,     &limb.toe};
  return *points[static_cast<std::size_t>(k)];
}
inline Landmark landmark_at(int k, bool left) {
  static constexpr std::array<Landmark, 8> kLeft = {
      Landmark::LeftShoulder, Landmark::LeftElbow, Landmark::LeftWrist, Landmark::LeftHip,
      Landmark::LeftKnee,     Landmark::LeftAnkle, Landmark::LeftHeel,  Landmark::LeftToe};
  static constexpr std::array<Landmark, 8> kRight = {
      Landmark::RightShoulder, Landmark::RightElbow, Landmark::RightWrist, Landmark::RightHip,
      Landmark::RightKnee,     Landmark::RightAnkle, Landmark::RightHeel,  Landmark::RightToe};
  return left ? kLeft[static_cast<std::size_t>(k)] : kRight[static_cast<std::size_t>(k)];
}

// Ellipse in the picture of a circle in the plane Z = const: the conic through five of its points.
inline kinematics::DiscObservation see_disc(const kinematics::PinholeCamera<double>& camera,
                                            const Eigen::Vector3d& center, double radius) {
  const Eigen::Vector2d middle = project(camera, center);
  Eigen::Matrix<double, 12, 5> m;
  for (int i = 0; i < 12; ++i) {
    const double a = i * 0.5235987755982988 + 0.2;
    const Eigen::Vector3d rim = center + radius * Eigen::Vector3d(std::cos(a), std::sin(a), 0);
    const Eigen::Vector2d d = (project(camera, rim) - middle) / 100.0;
    m.row(i) << d.x() * d.x(), 2 * d.x() * d.y(), d.y() * d.y(), d.x(), d.y();
  }
  const Eigen::Matrix<double, 5, 1> c =
      m.colPivHouseholderQr().solve(Eigen::Matrix<double, 12, 1>::Ones());
  Eigen::Matrix2d a;
  a << c[0], c[1], c[1], c[2];
  const Eigen::Vector2d b(c[3], c[4]);
  const Eigen::Vector2d shift = -0.5 * a.inverse() * b;
  const double level = 1 + (shift.transpose() * a * shift).value();
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> eigen(a / level);
  kinematics::DiscObservation disc;
  disc.center_px = (middle + 100.0 * shift).cast<float>();
  disc.semi_major_px = static_cast<float>(100.0 / std::sqrt(eigen.eigenvalues()[0]));
  disc.semi_minor_px = static_cast<float>(100.0 / std::sqrt(eigen.eigenvalues()[1]));
  disc.major_axis_angle =
      static_cast<float>(std::atan2(eigen.eigenvectors()(1, 0), eigen.eigenvectors()(0, 0)));
  disc.center_standard_error_px = 0.5F;
  disc.semi_axis_standard_error_px = 0.5F;
  disc.support = 0.9F;
  return disc;
}

struct Scene {
  kinematics::PinholeCamera<double> camera;
  int width_px = 1080;
  int height_px = 1920;
  double rate = 30;
};

inline Scene scene_at(double distance, double yaw, double height = 1.0) {
  Scene scene;
  scene.camera.yaw = yaw;
  scene.camera.distance = distance;
  scene.camera.height = height;
  scene.camera.focal_px = 0.75 * 1920;
  scene.camera.principal_px = {540, 960};
  return scene;
}

// Sees bodies with noise. `flexion` (0..1 per frame) scales the biases.
inline kinematics::ClipObservation film(const Scene& scene, const std::vector<double>& times,
                                        const std::vector<Body3d>& bodies,
                                        const std::vector<double>& flexion, const Lifter& lifter,
                                        bool disc, const Noise& noise, std::uint64_t seed) {
  kinematics::ClipObservation clip;
  clip.width_px = scene.width_px;
  clip.height_px = scene.height_px;
  clip.nominal_rate = scene.rate;
  const double scale = scene.camera.focal_px / scene.camera.distance;
  Random random(seed);
  std::array<Eigen::Vector2d, 16> fixed, drift;
  for (std::size_t k = 0; k < 16; ++k) {
    fixed[k] = noise.fixed * Eigen::Vector2d(random.normal(), random.normal());
    drift[k] = noise.drift * Eigen::Vector2d(random.normal(), random.normal());
  }
  const auto pixel = [&](const Eigen::Vector3d& p) { return project(scene.camera, p); };
  for (std::size_t i = 0; i < times.size(); ++i) {
    kinematics::FrameObservation frame;
    frame.index = static_cast<std::int64_t>(i);
    frame.time = times[i];
    kinematics::BodyObservation seen;
    seen.presence = 1;
    const double step = i > 0 ? times[i] - times[i - 1] : 1e9;
    const double keep = std::exp(-step / noise.correlation_time);
    for (std::size_t k = 0; k < 16; ++k) {
      drift[k] = keep * drift[k] + std::sqrt(1 - keep * keep) * noise.drift *
                                       Eigen::Vector2d(random.normal(), random.normal());
      const bool left = k < 8;
      const int type = static_cast<int>(k % 8);
      Eigen::Vector3d p = point_of(left ? bodies[i].left : bodies[i].right, type);
      if (type == 4) p += flexion[i] * noise.knee_bias;
      if (type == 3) p += flexion[i] * noise.hip_bias;
      Eigen::Vector2d error =
          fixed[k] + drift[k] + noise.white * Eigen::Vector2d(random.normal(), random.normal());
      const double turn = random.uniform(0.0, 6.283185307179586);
      if (random.uniform() < noise.outlier_share) {
        error += noise.outlier_size * Eigen::Vector2d(std::cos(turn), std::sin(turn));
      }
      auto& out = seen[landmark_at(type, left)];
      out.position_px = (pixel(p) + scale * error).cast<float>();
      out.regressed_px = out.position_px;
      out.confidence = 0.9F;
      out.visibility = 0.9F;
      out.refined = true;
    }
    frame.body = seen;
    if (disc && bodies[i].bar) {
      Eigen::Vector3d center = *bodies[i].bar;
      center.z() = (scene.camera.side == BodySide::Right ? 1 : -1) * lifter.disc_plane;
      kinematics::DiscObservation d = see_disc(scene.camera, center, lifter.disc_radius);
      const auto jitter = [&] { return static_cast<float>(noise.disc_px * random.normal()); };
      d.center_px += Eigen::Vector2f(jitter(), jitter());
      d.semi_major_px += jitter();
      d.semi_minor_px += jitter();
      frame.disc = d;
    }
    clip.frames.push_back(frame);
  }
  return clip;
}

inline FitPriors priors_of(const Lifter& lifter, BarPosition bar, bool disc) {
  FitPriors priors;
  priors.lengths = lifter.lengths(0.03);
  priors.bar_position = bar;
  if (disc) priors.disc_diameter = 2 * lifter.disc_radius;
  priors.grip_width = Estimate{lifter.grip_width, 0.05};
  return priors;
}

inline std::vector<double> frame_times(double rate, double duration) {
  std::vector<double> times;
  for (int i = 0; i / rate <= duration + 1e-9; ++i) times.push_back(i / rate);
  return times;
}

// The invented squat, filmed; truth in `bodies` and `postures`.
struct Filmed {
  std::vector<double> times;
  std::vector<Posture> postures;
  std::vector<Body3d> bodies;
  kinematics::ClipObservation clip;
};
inline Filmed film_squat(const Lifter& lifter, const Scene& scene, bool disc, const Noise& noise,
                         std::uint64_t seed, double duration = 4.0) {
  Filmed out;
  out.times = frame_times(scene.rate, duration);
  std::vector<double> flexion;
  for (const double t : out.times) {
    const double s = squat_depth(std::fmod(t, 4.0));
    flexion.push_back(s);
    out.postures.push_back(squat_posture(lifter, s));
    out.bodies.push_back(body_of(lifter, out.postures.back()));
  }
  out.clip = film(scene, out.times, out.bodies, flexion, lifter, disc, noise, seed);
  return out;
}

// de Leva 1996, men, table 4 (J Biomech 29:1223-1230), left and right together.
inline MassModel de_leva_men(double body_mass, double bar_mass) {
  MassModel m;
  m.body_mass = body_mass;
  m.bar_mass = bar_mass;
  m.foot = {2 * 0.0137, 0.4415};
  m.shank = {2 * 0.0433, 0.4459};
  m.thigh = {2 * 0.1416, 0.4095};
  m.trunk = {0.4346, 0.4310};
  m.head = {0.0694, 0.5002};
  m.upper_arm = {2 * 0.0271, 0.5772};
  m.forearm_hand = {2 * (0.0162 + 0.0061), 0.60};
  return m;
}

}  // namespace lintel::fitting::testing
