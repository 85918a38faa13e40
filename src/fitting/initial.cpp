#include "fitting/initial.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace lintel::fitting {
namespace {

using body::Segment;
constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
constexpr double kPi = std::numbers::pi;

double quantile(std::vector<double> values, double share) {
  if (values.empty()) return kNone;
  const auto rank = static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5);
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(rank),
                   values.end());
  return values[rank];
}

// Angle into [low, low + 2 pi).
double wrap_from(double angle, double low) {
  const double turns = std::floor((angle - low) / (2 * kPi));
  return angle - turns * 2 * kPi;
}

// Running median of five over what is there, then straight lines over what is not.
void clean(std::vector<double>& series, double fallback) {
  const std::vector<double> raw = series;
  const auto count = static_cast<std::ptrdiff_t>(raw.size());
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    std::vector<double> near;
    for (std::ptrdiff_t j = std::max<std::ptrdiff_t>(0, i - 2); j <= std::min(count - 1, i + 2);
         ++j) {
      const double value = raw[static_cast<std::size_t>(j)];
      if (!std::isnan(value)) near.push_back(value);
    }
    if (!std::isnan(raw[static_cast<std::size_t>(i)])) {
      series[static_cast<std::size_t>(i)] = quantile(near, 0.5);
    }
  }
  std::ptrdiff_t last = -1;
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    if (std::isnan(series[static_cast<std::size_t>(i)])) continue;
    const double here = series[static_cast<std::size_t>(i)];
    for (std::ptrdiff_t j = last + 1; j < i; ++j) {
      const double before = last < 0 ? here : series[static_cast<std::size_t>(last)];
      const double share = static_cast<double>(j - last) / static_cast<double>(i - last);
      series[static_cast<std::size_t>(j)] = before + share * (here - before);
    }
    last = i;
  }
  for (std::ptrdiff_t j = last + 1; j < count; ++j) {
    series[static_cast<std::size_t>(j)] =
        last < 0 ? fallback : series[static_cast<std::size_t>(last)];
  }
}

// Mean of near and far landmark [px]; NaN when neither is seen.
Eigen::Vector2d middle_px(const PooledFrame& frame, FittedLandmark landmark) {
  const PooledLandmark& a = frame.at(kNear, landmark);
  const PooledLandmark& b = frame.at(kFar, landmark);
  if (a.seen && b.seen) return 0.5 * (a.px + b.px);
  if (a.seen) return a.px;
  if (b.seen) return b.px;
  return {kNone, kNone};
}

double length_of(const FitPriors& priors, Segment segment) {
  return priors.lengths[segment].value;
}

class Guesser {
 public:
  Guesser(const PooledClip& clip, const FitPriors& priors, const FitOptions& options)
      : clip_(clip), priors_(priors), options_(options) {}

  InitialGuess run() {
    set_constants();
    set_priors();
    if (!find_scale()) return std::move(out_);
    find_camera();
    find_poses();
    set_noise();
    out_.usable = true;
    return std::move(out_);
  }

 private:
  void set_constants() {
    FitProblem& problem = out_.problem;
    problem.clip = &clip_;
    problem.end = clip_.frames.size();
    problem.options = options_;
    problem.masses = priors_.masses ? &*priors_.masses : nullptr;
    problem.constants.bar_position = priors_.bar_position;
    problem.constants.grip = length_of(priors_, Segment::Grip);
    problem.constants.foot_length = length_of(priors_, Segment::Foot);
    problem.constants.head_neck = length_of(priors_, Segment::HeadNeck);
    problem.constants.disc_radius = priors_.disc_diameter ? 0.5 * *priors_.disc_diameter : 0.0;
    problem.constants.principal_px = {0.5 * clip_.width_px, 0.5 * clip_.height_px};
  }

  void prior(GlobalQuantity quantity, double mean, double deviation) {
    out_.problem.global_mean[static_cast<std::size_t>(at(quantity))] = mean;
    out_.problem.global_deviation[static_cast<std::size_t>(at(quantity))] = deviation;
  }
  void prior(GlobalQuantity quantity, const Estimate& estimate) {
    prior(quantity, estimate.value, std::max(estimate.standard_error, 1e-3));
  }

  void set_priors() {
    using Q = GlobalQuantity;
    const double mirror = clip_.mirrored ? -1.0 : 1.0;
    prior(Q::CameraHeight, priors_.camera_height);
    prior(Q::Yaw, priors_.yaw);
    prior(Q::Roll, mirror * priors_.roll.value, std::max(priors_.roll.standard_error, 1e-4));
    prior(Q::Pitch, priors_.pitch);
    const double long_side = std::max(clip_.width_px, clip_.height_px);
    focal_ = priors_.focal_per_long_side.value * long_side;
    prior(Q::FocalLength, std::log(focal_),
          priors_.focal_per_long_side.standard_error / priors_.focal_per_long_side.value);
    prior(Q::Shank, priors_.lengths[Segment::Shank]);
    prior(Q::Thigh, priors_.lengths[Segment::Thigh]);
    prior(Q::Trunk, priors_.lengths[Segment::Trunk]);
    prior(Q::UpperArm, priors_.lengths[Segment::UpperArm]);
    prior(Q::Forearm, priors_.lengths[Segment::Forearm]);
    prior(Q::AnkleHeight, priors_.lengths[Segment::AnkleHeight]);
    prior(Q::HeelToAnkle, priors_.lengths[Segment::HeelToAnkle]);
    // The toe landmark lies near the ball of the foot (network notes): 0.78 of the foot from the
    // heel; read off figures, no source.
    prior(Q::AnkleToBall,
          0.78 * length_of(priors_, Segment::Foot) - length_of(priors_, Segment::HeelToAnkle),
          0.02);
    prior(Q::InterHip, priors_.lengths[Segment::InterHip]);
    prior(Q::InterShoulder, priors_.lengths[Segment::InterShoulder]);
    prior(Q::StanceWidth, priors_.stance_width);
    prior(Q::ToeOut, priors_.toe_out);
    prior(Q::FootStagger, 0.0, 0.03);
    const double shoulders = length_of(priors_, Segment::InterShoulder);
    const bool overhead = priors_.bar_position == BarPosition::Overhead;
    prior(Q::GripWidth, priors_.grip_width.value_or(overhead ? Estimate{2.0 * shoulders, 0.15}
                                                             : Estimate{1.3 * shoulders, 0.25}));
    prior(Q::DiscPlaneOffset, priors_.disc_plane_offset);
    prior(Q::DiscScale, 0.0, 0.005);  // a worn or coated rim; common practice, no source
    // A thick disc that is turned shows its edge: rounder than its face by up to a few per cent.
    prior(Q::DiscAspect, 0.0, 0.03);
    const bool front = priors_.bar_position == BarPosition::Front;
    prior(Q::BarOffsetForward, front ? 0.08 : -0.05, 0.03);  // from shoulder centre, no source
    prior(Q::BarOffsetUp, front ? 0.03 : 0.02, 0.03);
    prior(Q::BalancePlace, 0.0, options_.balance_place);
    prior(Q::KneeOut, 0.0, 0.0);  // its own prior with heavier tails, solve.cpp
    set_motion_prior();
  }

  // Accelerations [rad/s^2]: RMS (largest) of the open mocap squats, smoothed over 0.15 s, are for
  // the trunk 1.3 (4), the shank 1.2 to 10 (22), the thigh 2.5 to 20 (56), the larger values from
  // subject 14, whose knees fall outwards. Control points are taken as independent in time; the
  // priors lie at about the largest, so that no turning point is flattened (docs/fit.md).
  // Others: judgement, no source.
  void set_motion_prior() {
    MotionPrior& motion = out_.problem.motion;
    const bool overhead = priors_.bar_position == BarPosition::Overhead;
    motion.acceleration = {15.0, 36.0, 42.0, 120.0, 12.0, 18.0, 18.0, 2.4, 0.3, 0.3};
    motion.rate = {4.0, 6.0, 8.0, 15.0, 4.0, 5.0, 5.0, 0.3, 0.05, 0.05};
    motion.mean = {0.0, 0.3, 0.8, 0.3, 0.3, overhead ? 0.0 : 2.5, overhead ? 0.1 : 0.5,
                   0.0, 0.0, 0.0};
    const bool fixed = priors_.feet == FeetPrior::Fixed;
    motion.deviation = {1.5 * kRadiansPerDegree,
                        1.0,
                        1.5,
                        0.7,
                        1.0,
                        1.5,
                        overhead ? 0.12 : 1.0,
                        0.03,
                        fixed ? 0.01 : 0.06,
                        fixed ? 0.005 : 0.03};
  }

  bool find_scale() {
    using L = FittedLandmark;
    const double legs = length_of(priors_, Segment::Shank) + length_of(priors_, Segment::Thigh);
    const double all = legs + length_of(priors_, Segment::Trunk);
    std::vector<double> scales, disc_radii;
    for (const PooledFrame& frame : clip_.frames) {
      const Eigen::Vector2d ankle = middle_px(frame, L::Ankle), knee = middle_px(frame, L::Knee);
      const Eigen::Vector2d hip = middle_px(frame, L::Hip),
                            shoulder = middle_px(frame, L::Shoulder);
      const double sum = (ankle - knee).norm() + (knee - hip).norm() + (hip - shoulder).norm();
      if (!std::isnan(sum)) scales.push_back(sum / all);
      if (frame.disc) disc_radii.push_back(frame.disc->semi_major_px);
    }
    if (scales.size() < std::min<std::size_t>(3, clip_.frames.size()) || scales.empty()) {
      return false;
    }
    scale_ = quantile(scales, 0.9);
    if (!disc_radii.empty()) {
      const double near_scale = quantile(disc_radii, 0.5) / out_.problem.constants.disc_radius;
      const double from_disc = focal_ / (focal_ / near_scale + priors_.disc_plane_offset.value);
      // The body disagrees by more than lengths can: that is not the disc we were told of.
      if (from_disc > 0.75 * scale_ && from_disc < 1.35 * scale_) scale_ = from_disc;
    }
    if (!(scale_ > 5)) return false;  // fewer than 5 px a metre: no body
    distance_ = focal_ / scale_;
    out_.problem.pixels_per_metre = scale_;
    return true;
  }

  void find_camera() {
    using Q = GlobalQuantity;
    using L = FittedLandmark;
    GlobalVector& g = out_.global;
    g = out_.problem.global_mean;
    std::vector<double> us, vs, shift, width;
    const auto vote = [&](const PooledFrame& frame, L landmark, double apart) {
      const PooledLandmark& a = frame.at(kNear, landmark);
      const PooledLandmark& b = frame.at(kFar, landmark);
      if (!a.seen || !b.seen) return;
      const double middle = 0.5 * (a.px.x() + b.px.x()) - out_.problem.constants.principal_px.x();
      const double parallax = middle * apart / distance_;
      shift.push_back((a.px.x() - b.px.x() - parallax) / (scale_ * apart));
    };
    for (const PooledFrame& frame : clip_.frames) {
      const Eigen::Vector2d ankle = middle_px(frame, L::Ankle);
      if (!ankle.hasNaN()) {
        us.push_back(ankle.x());
        vs.push_back(ankle.y());
      }
      vote(frame, L::Hip, length_of(priors_, Segment::InterHip));
      vote(frame, L::Shoulder, length_of(priors_, Segment::InterShoulder));
    }
    const double u = quantile(us, 0.5), v = quantile(vs, 0.5);
    const auto set = [&](Q quantity, double value) {
      g[static_cast<std::size_t>(at(quantity))] = value;
    };
    const double seen_yaw =
        shift.empty() ? 0.0 : -std::asin(std::clamp(quantile(shift, 0.5), -0.7, 0.7));
    const double given = std::max(priors_.yaw.standard_error, 1e-3), own = 5 * kRadiansPerDegree;
    const double yaw = (seen_yaw / (own * own) + priors_.yaw.value / (given * given)) /
                       (1 / (own * own) + 1 / (given * given));
    set(Q::Yaw, yaw);
    set(Q::CameraDistance, std::log(distance_));
    prior(Q::CameraDistance, std::log(distance_), 3.0);
    const double ankle_height = length_of(priors_, Segment::AnkleHeight);
    const double level = ankle_height + (v - out_.problem.constants.principal_px.y()) / scale_;
    const double lever = distance_ * std::max(priors_.pitch.standard_error, 1e-3);
    const double spread = std::max(priors_.camera_height.standard_error, 1e-3);
    const double height =
        (level / (lever * lever) + priors_.camera_height.value / (spread * spread)) /
        (1 / (lever * lever) + 1 / (spread * spread));
    set(Q::CameraHeight, height);
    set(Q::Pitch, (height - level) / distance_);
    const double ankle_x =
        -g[static_cast<std::size_t>(at(Q::AnkleToBall))] * std::cos(priors_.toe_out.value);
    const double aim = ankle_x - (u - out_.problem.constants.principal_px.x()) / scale_;
    set(Q::CameraAim, aim);
    prior(Q::CameraAim, aim, 10.0);
    ankle_px_ = {u, v};
    yaw_ = yaw;
  }

  // Picture to metres in the body's plane, relative to the usual place of the ankle.
  Eigen::Vector2d to_metres(const Eigen::Vector2d& px) const {
    const Eigen::Vector2d d = (px - ankle_px_) / scale_;
    return {d.x() / std::cos(yaw_), -d.y()};
  }

  void find_poses() {
    const std::size_t count = clip_.frames.size();
    std::array<std::vector<double>, kPoseSize> series;
    for (auto& s : series) s.assign(count, kNone);
    std::vector<double> heel_heights;
    for (const PooledFrame& frame : clip_.frames) {
      const Eigen::Vector2d heel = middle_px(frame, FittedLandmark::Heel);
      if (!heel.hasNaN()) heel_heights.push_back(to_metres(heel).y());
    }
    const double heel_floor = quantile(heel_heights, 0.2);
    for (std::size_t i = 0; i < count; ++i) {
      const PoseVector pose = frame_pose(clip_.frames[i], heel_floor);
      for (std::size_t k = 0; k < kPoseSize; ++k) series[k][i] = pose[k];
    }
    out_.pose.assign(count, PoseVector{});
    for (std::size_t k = 0; k < kPoseSize; ++k) {
      clean(series[k], out_.problem.motion.mean[k]);
      for (std::size_t i = 0; i < count; ++i) out_.pose[i][k] = series[k][i];
    }
  }

  PoseVector frame_pose(const PooledFrame& frame, double heel_floor) const {
    using L = FittedLandmark;
    const auto place = [&](L landmark) { return to_metres(middle_px(frame, landmark)); };
    const Eigen::Vector2d ankle = place(L::Ankle), knee = place(L::Knee), hip = place(L::Hip);
    const Eigen::Vector2d shoulder = place(L::Shoulder), heel = place(L::Heel);
    PoseVector pose;
    pose.fill(kNone);
    pose[kFootPitch] = 0.0;
    if (!heel.hasNaN() && !std::isnan(heel_floor)) {
      const double foot = 0.78 * length_of(priors_, Segment::Foot);
      pose[kFootPitch] = std::clamp((heel.y() - heel_floor - 0.02) / foot, 0.0, 0.8);
    }
    const Eigen::Vector2d shank = knee - ankle, thigh = hip - knee, trunk = shoulder - hip;
    pose[kShank] = std::atan2(shank.x(), shank.y());
    pose[kThigh] = wrap_from(std::atan2(-thigh.x(), thigh.y()), -0.5 * kPi);
    pose[kTrunk] = std::atan2(trunk.x(), trunk.y());
    turn_thigh(abduction(shank, thigh), pose);
    set_arm(frame, shoulder, pose);
    pose[kTrunkLength] = pose[kDriftX] = pose[kDriftY] = 0.0;
    return pose;
  }

  // From sagittal inclination and angle out of the sagittal plane to angle in space and azimuth.
  // The azimuth of a thigh that stands upright is undefined: left to its neighbours.
  void turn_thigh(double abduction, PoseVector& pose) const {
    if (std::isnan(abduction) || std::isnan(pose[kThigh])) return;
    const double forward = std::cos(abduction) * std::sin(pose[kThigh]);
    const double angle = std::acos(std::cos(abduction) * std::cos(pose[kThigh]));
    pose[kThigh] = std::copysign(angle, forward);
    if (angle > 0.4) pose[kSpread] = std::atan2(std::sin(abduction), forward);
  }

  double abduction(const Eigen::Vector2d& shank, const Eigen::Vector2d& thigh) const {
    if (shank.hasNaN() || thigh.hasNaN()) return kNone;
    const double length = length_of(priors_, Segment::Thigh);
    const double knee_z =
        0.5 * priors_.stance_width.value + std::tan(priors_.toe_out.value) * shank.x();
    const double usual = std::asin(
        std::clamp((knee_z - 0.5 * length_of(priors_, Segment::InterHip)) / length, -0.3, 0.9));
    const double seen = thigh.norm() / length;
    // Much shorter than it is: it points sideways. Short by less may be error.
    return seen < 0.85 ? std::max(usual, std::acos(std::max(seen, 0.2))) : usual;
  }

  void set_arm(const PooledFrame& frame, const Eigen::Vector2d& shoulder, PoseVector& pose) const {
    const bool overhead = priors_.bar_position == BarPosition::Overhead;
    const double low = overhead ? -kPi : -0.5 * kPi;
    pose[kElbow] = out_.problem.motion.mean[kElbow];
    Eigen::Vector2d hand = to_metres(middle_px(frame, FittedLandmark::Wrist));
    if (overhead && frame.disc) hand = near_plane_to_metres(frame.disc->center_px);
    if (overhead || to_metres(middle_px(frame, FittedLandmark::Elbow)).hasNaN()) {
      const Eigen::Vector2d arm = hand - shoulder;
      pose[kUpperArm] = wrap_from(std::atan2(arm.x(), arm.y()), low);
      if (overhead) pose[kUpperArm] += 0.5 * pose[kElbow];
      return;
    }
    const Eigen::Vector2d elbow = to_metres(middle_px(frame, FittedLandmark::Elbow));
    const Eigen::Vector2d upper = elbow - shoulder, fore = hand - elbow;
    pose[kUpperArm] = wrap_from(std::atan2(upper.x(), upper.y()), low);
    if (!fore.hasNaN()) {
      const double bend = pose[kUpperArm] - std::atan2(fore.x(), fore.y());
      pose[kElbow] = std::clamp(wrap_from(bend, -kPi), 0.0, 2.6);
    }
  }

  // A point of the disc's plane, nearer to the camera, seen through the turned camera.
  Eigen::Vector2d near_plane_to_metres(const Eigen::Vector2d& px) const {
    const double z = priors_.disc_plane_offset.value;
    const double ratio = (distance_ - z * std::cos(yaw_)) / distance_;
    const Eigen::Vector2d centre = out_.problem.constants.principal_px;
    Eigen::Vector2d in_plane = centre + ratio * (px - centre);
    in_plane.x() += z * std::sin(yaw_) * scale_;
    return to_metres(in_plane);
  }

  void set_noise() {
    FitProblem& problem = out_.problem;
    // Ratios to options.landmark_noise: the foot's points are the network's worst (network notes,
    // foot line 5 degrees); the far side is partly hidden. Judgement, no source.
    constexpr std::array<double, kFittedLandmarkCount> kRatio = {1.0, 1.2, 1.2, 1.0,
                                                                 1.0, 1.0, 1.5, 1.5};
    bool any_disc = false;
    for (const PooledFrame& frame : clip_.frames) any_disc = any_disc || frame.disc.has_value();
    for (int side = 0; side < 2; ++side) {
      for (int k = 0; k < kFittedLandmarkCount; ++k) {
        const auto instance = static_cast<std::size_t>(instance_of(side, k));
        problem.noise[instance] = options_.landmark_noise * kRatio[static_cast<std::size_t>(k)] *
                                  (side == kFar ? 1.3 : 1.0);
        const auto landmark = static_cast<FittedLandmark>(k);
        const bool hand = landmark == FittedLandmark::Elbow || landmark == FittedLandmark::Wrist;
        // Behind a disc the network puts wrist and elbow on the head; free hands are no mirror
        // images of each other, which the model takes them for, and would pull on the shoulders.
        const bool free_hands = priors_.bar_position == BarPosition::None;
        problem.used[instance] = !(hand && (any_disc || free_hands));
        bool seen = false;
        for (const PooledFrame& frame : clip_.frames) {
          seen = seen || frame.at(side, landmark).seen;
        }
        problem.used[instance] = problem.used[instance] && seen;
      }
    }
  }

  const PooledClip& clip_;
  const FitPriors& priors_;
  const FitOptions& options_;
  InitialGuess out_;
  double focal_ = 0, scale_ = 0, distance_ = 0, yaw_ = 0;
  Eigen::Vector2d ankle_px_{0, 0};
};

}  // namespace

InitialGuess guess(const PooledClip& clip, const FitPriors& priors, const FitOptions& options) {
  return Guesser(clip, priors, options).run();
}

Parameters start_parameters(const InitialGuess& guess, std::size_t begin, std::size_t end,
                            double knot_spacing) {
  const std::vector<PooledFrame>& frames = guess.problem.clip->frames;
  Parameters parameters;
  parameters.grid = KnotGrid::covering(frames[begin].time, frames[end - 1].time, knot_spacing);
  parameters.global = guess.global;
  parameters.control.resize(static_cast<std::size_t>(parameters.grid.control_points));
  std::size_t i = begin;
  for (int k = 0; k < parameters.grid.control_points; ++k) {
    const double time = parameters.grid.control_time(k);
    while (i + 1 < end && frames[i + 1].time <= time) ++i;
    const std::size_t next = std::min(i + 1, end - 1);
    const double span = frames[next].time - frames[i].time;
    const double share = span > 0 ? std::clamp((time - frames[i].time) / span, 0.0, 1.0) : 0.0;
    PoseVector& control = parameters.control[static_cast<std::size_t>(k)];
    for (std::size_t c = 0; c < kPoseSize; ++c) {
      control[c] = guess.pose[i][c] + share * (guess.pose[next][c] - guess.pose[i][c]);
    }
  }
  return parameters;
}

PoseVector Parameters::pose(double time) const {
  const KnotGrid::Weights w = grid.weights(time);
  PoseVector out{};
  for (std::size_t k = 0; k < 4; ++k) {
    const PoseVector& c = control[static_cast<std::size_t>(w.first) + k];
    for (std::size_t i = 0; i < kPoseSize; ++i) out[i] += w.value[k] * c[i];
  }
  return out;
}

PoseVector Parameters::pose_rate(double time) const {
  const KnotGrid::Weights w = grid.weights(time);
  PoseVector out{};
  for (std::size_t k = 0; k < 4; ++k) {
    const PoseVector& c = control[static_cast<std::size_t>(w.first) + k];
    for (std::size_t i = 0; i < kPoseSize; ++i) out[i] += w.rate[k] * c[i];
  }
  return out;
}

double correlation_inflation(double spacing, double correlation_time) {
  if (correlation_time <= 0) return 1.0;
  const double rho = std::exp(-spacing / correlation_time);
  return (1.0 + rho) / (1.0 - rho);
}

double landmark_deviation_px(const FitProblem& problem, int instance, double confidence) {
  return problem.noise[static_cast<std::size_t>(instance)] * problem.pixels_per_metre /
         std::sqrt(std::clamp(confidence, 0.15, 1.0));
}

}  // namespace lintel::fitting
