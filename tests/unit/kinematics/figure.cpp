#include "unit/kinematics/figure.h"

#include <cmath>

#include <Eigen/Eigenvalues>

#include "base/random.h"

namespace lintel::testing {

using namespace kinematics;

body::SegmentLengths segment_lengths(const FigureLengths& f, double relative_error) {
  using body::Segment;
  body::SegmentLengths out;
  const auto set = [&](Segment s, double value) { out[s] = {value, relative_error * value}; };
  set(Segment::Shank, f.shank);
  set(Segment::Thigh, f.thigh);
  set(Segment::Trunk, f.trunk);
  set(Segment::UpperArm, f.upper_arm);
  set(Segment::Forearm, f.forearm);
  set(Segment::Foot, f.foot);
  set(Segment::AnkleHeight, f.ankle_height);
  set(Segment::InterHip, f.inter_hip);
  set(Segment::InterShoulder, f.inter_shoulder);
  return out;
}

FigurePose squat_pose(double depth) {
  FigurePose pose;
  pose.shank = deg(3) + depth * deg(32);
  pose.thigh = deg(3) + depth * deg(97);
  pose.trunk = deg(4) + depth * deg(32);
  pose.arm = deg(2) - depth * deg(4);
  return pose;
}

Figure3d make_figure(const FigurePose& pose, const FigureLengths& l) {
  Figure3d figure;
  for (auto& p : figure.landmark) p.setZero();
  Eigen::Vector3d mid_hip = Eigen::Vector3d::Zero();
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    const double s = side == BodySide::Right ? 1.0 : -1.0;
    const Eigen::Vector3d ahead(std::cos(pose.toe_out), 0, s * std::sin(pose.toe_out));
    const Eigen::Vector3d up = Eigen::Vector3d::UnitY();
    const Eigen::Vector3d ankle(0, l.ankle_height, s * 0.5 * pose.stance);
    const Eigen::Vector3d knee =
        ankle + l.shank * (std::sin(pose.shank) * ahead + std::cos(pose.shank) * up);
    const double hip_z = s * 0.5 * l.inter_hip + pose.hip_shift;
    const double across = hip_z - knee.z();
    const double level = l.thigh * std::sin(pose.thigh);
    const double back = std::sqrt(std::max(0.0, level * level - across * across));
    const double rise = std::sqrt(l.thigh * l.thigh - back * back - across * across);
    const Eigen::Vector3d hip(knee.x() - back, knee.y() + (pose.thigh <= deg(90) ? rise : -rise),
                              hip_z);
    figure[landmark_of(PairedLandmark::Ankle, side)] = ankle;
    figure[landmark_of(PairedLandmark::Knee, side)] = knee;
    figure[landmark_of(PairedLandmark::Hip, side)] = hip;
    const Eigen::Vector3d heel = ankle - 0.25 * l.foot * ahead - 0.6 * l.ankle_height * up;
    figure[landmark_of(PairedLandmark::Heel, side)] = heel;
    figure[landmark_of(PairedLandmark::Toe, side)] = heel + 0.8 * l.foot * ahead;
    mid_hip += 0.5 * hip;
  }
  const Eigen::Vector3d trunk(std::sin(pose.trunk), std::cos(pose.trunk), 0);
  const Eigen::Vector3d arm(std::sin(pose.arm), std::cos(pose.arm), 0);
  const Eigen::Vector3d mid_shoulder = mid_hip + l.trunk * trunk;
  const double reach = l.upper_arm + l.forearm;
  const double out = 0.5 * (pose.grip - l.inter_shoulder);
  const double in_plane = std::sqrt(reach * reach - out * out);
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    const double s = side == BodySide::Right ? 1.0 : -1.0;
    const Eigen::Vector3d shoulder =
        mid_shoulder + Eigen::Vector3d(0, 0, s * 0.5 * l.inter_shoulder);
    const Eigen::Vector3d hand =
        mid_shoulder + in_plane * arm + Eigen::Vector3d(0, 0, s * 0.5 * pose.grip);
    figure[landmark_of(PairedLandmark::Shoulder, side)] = shoulder;
    figure[landmark_of(PairedLandmark::Elbow, side)] =
        shoulder + l.upper_arm / reach * (hand - shoulder);
    figure[landmark_of(PairedLandmark::Wrist, side)] = hand;
    figure[landmark_of(PairedLandmark::IndexKnuckle, side)] = hand;
    figure[landmark_of(PairedLandmark::LittleKnuckle, side)] = hand;
    figure[landmark_of(PairedLandmark::Ear, side)] =
        mid_shoulder + Eigen::Vector3d(0.02, 0.20, s * 0.07);
  }
  figure[Landmark::Nose] = mid_shoulder + Eigen::Vector3d(0.12, 0.18, 0);
  figure.bar = mid_shoulder + in_plane * arm;
  return figure;
}

namespace {

// Ellipse of a projected circle in a plane square to Z, from the second moments of its rim.
DiscObservation film_disc(const Eigen::Vector3d& center, const Film& f) {
  constexpr int kRim = 72;
  std::array<Eigen::Vector2d, kRim> rim;
  Eigen::Vector2d mean = Eigen::Vector2d::Zero();
  for (int i = 0; i < kRim; ++i) {
    const double t = 2 * std::numbers::pi * i / kRim;
    rim[static_cast<std::size_t>(i)] = project<double>(
        f.camera, center + f.disc_radius * Eigen::Vector3d(std::cos(t), std::sin(t), 0));
    mean += rim[static_cast<std::size_t>(i)] / kRim;
  }
  Eigen::Matrix2d moments = Eigen::Matrix2d::Zero();
  for (const auto& p : rim) moments += (p - mean) * (p - mean).transpose() / kRim;
  const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> solver(moments);
  DiscObservation disc;
  disc.center_px = mean.cast<float>();
  disc.semi_major_px = static_cast<float>(std::sqrt(2 * solver.eigenvalues()[1]));
  disc.semi_minor_px = static_cast<float>(std::sqrt(2 * solver.eigenvalues()[0]));
  const Eigen::Vector2d axis = solver.eigenvectors().col(1);
  disc.major_axis_angle = static_cast<float>(std::atan2(axis.y(), axis.x()));
  disc.support = 1;
  return disc;
}

}  // namespace

ClipObservation film(const std::vector<double>& time, const std::vector<Figure3d>& figures,
                     const Film& f) {
  Random random(f.seed);
  std::array<std::array<double, 6>, kLandmarkCount> wander{};  // phase and frequency of each axis
  for (auto& w : wander) {
    for (int k = 0; k < 3; ++k) {
      w[static_cast<std::size_t>(k)] = random.uniform(0, 2 * std::numbers::pi);
      w[static_cast<std::size_t>(k + 3)] = random.uniform(0.05, 0.3);
    }
  }
  ClipObservation clip;
  clip.width_px = f.width_px;
  clip.height_px = f.height_px;
  clip.nominal_rate = time.size() > 1 ? 1.0 / (time[1] - time[0]) : 0;
  for (std::size_t i = 0; i < time.size(); ++i) {
    FrameObservation frame;
    frame.index = static_cast<std::int64_t>(i);
    frame.time = time[i];
    BodyObservation body;
    body.presence = 1;
    const Figure3d& figure = figures[i];
    const Eigen::Vector3d mid_hip = 0.5 * (figure[Landmark::LeftHip] + figure[Landmark::RightHip]);
    const double depth = in_camera<double>(f.camera, mid_hip).z();
    for (std::size_t k = 0; k < kLandmarkCount; ++k) {
      Eigen::Vector3d p = figure.landmark[k];
      for (int axis = 0; axis < 3; ++axis) {
        const auto a = static_cast<std::size_t>(axis);
        p[axis] +=
            random.normal(0, f.white_noise) +
            f.drift * std::sin(wander[k][a] + 2 * std::numbers::pi * wander[k][a + 3] * time[i]);
      }
      LandmarkObservation& l = body.landmarks[k];
      l.position_px = l.regressed_px = project<double>(f.camera, p).cast<float>();
      l.depth_px = static_cast<float>((in_camera<double>(f.camera, p).z() - depth) *
                                      f.camera.focal_px / depth);
      l.confidence = l.visibility = 0.9f;
      l.refined = true;
    }
    frame.body = body;
    if (f.disc_radius > 0 && figure.bar) {
      frame.disc =
          film_disc(*figure.bar + Eigen::Vector3d(0, 0, f.camera.sign() * f.disc_plane_offset), f);
      frame.disc->center_standard_error_px = static_cast<float>(std::max(0.5, f.disc_noise_px));
      frame.disc->semi_axis_standard_error_px = static_cast<float>(std::max(0.3, f.disc_noise_px));
      frame.disc->center_px.x() += static_cast<float>(random.normal(0, f.disc_noise_px));
      frame.disc->center_px.y() += static_cast<float>(random.normal(0, f.disc_noise_px));
      frame.disc->semi_major_px += static_cast<float>(random.normal(0, f.disc_noise_px));
    }
    clip.frames.push_back(std::move(frame));
  }
  return clip;
}

std::vector<double> frame_times(double duration, double rate) {
  std::vector<double> time;
  for (int i = 0; i / rate <= duration + 1e-9; ++i) time.push_back(i / rate);
  return time;
}

std::vector<Figure3d> figures_of(const std::vector<double>& time,
                                 const std::function<double(double)>& depth,
                                 const std::function<void(FigurePose&)>& change,
                                 const FigureLengths& lengths) {
  std::vector<Figure3d> figures;
  for (const double t : time) {
    FigurePose pose = squat_pose(depth(t));
    if (change) change(pose);
    figures.push_back(make_figure(pose, lengths));
  }
  return figures;
}

}  // namespace lintel::testing
