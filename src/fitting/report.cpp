#include "fitting/report.h"

#include <ceres/jet.h>

#include <Eigen/Cholesky>
#include <Eigen/Eigenvalues>
#include <algorithm>
#include <cmath>
#include <limits>

#include "fitting/channels.h"

namespace lintel::fitting {
namespace {

using kinematics::Channel;
using kinematics::FigurePoint;
constexpr double kNone = std::numeric_limits<double>::quiet_NaN();

FittedSeries* series_of(FitResult& result, int channel) {
  switch (channel) {
    case kThigh3d:
      return &result.thigh_inclination_3d;
    case kKnee3d:
      return &result.knee_flexion_3d;
    case kHip3d:
      return &result.hip_flexion_3d;
    case kKneeSpread:
      return &result.knee_spread;
    default:
      return &result.channels[static_cast<std::size_t>(channel)];
  }
}

}  // namespace

struct Reporter::Instant {
  std::array<double, kReportedCount> value{};
  std::array<double, kReportedCount> rate{};
  std::array<double, kReportedCount> local_variance{};
  Eigen::Matrix<double, kReportedCount, kBorderSize> sensitivity;  // to the border
};

Reporter::Reporter(const kinematics::ClipObservation& clip, const FitPriors& priors,
                   const FitProblem& problem)
    : priors_(priors),
      problem_(problem),
      width_px_(clip.width_px),
      table_(std::make_shared<ErrorModel::Table>()) {
  for (const PooledFrame& frame : problem.clip->frames) {
    if (frame.has_body) observed_times_.push_back(frame.time);
  }
  const std::size_t count = clip.frames.size();
  for (const auto& frame : clip.frames) {
    result_.time.push_back(frame.time);
    result_.frame_index.push_back(frame.index);
  }
  for (int channel = 0; channel < kReportedCount; ++channel) {
    FittedSeries& series = *series_of(result_, channel);
    series.value.assign(count, kNone);
    series.standard_error.assign(count, kNone);
    series.rate.assign(count, kNone);
  }
  const float none = std::numeric_limits<float>::quiet_NaN();
  kinematics::Figure figure;
  figure.fill(Eigen::Vector2f(none, none));
  result_.figures.assign(count, figure);
  std::array<Eigen::Vector3d, kinematics::kFigurePointCount> points;
  points.fill(Eigen::Vector3d(kNone, kNone, kNone));
  result_.points.assign(count, points);
  table_->shared.assign(count, ErrorModel::Shared::Zero());
  for (const PooledFrame& frame : problem.clip->frames) {
    disc_seen_ = disc_seen_ || frame.disc.has_value();
  }
  const auto used = [&](int side, FittedLandmark landmark) {
    return problem.used[static_cast<std::size_t>(instance_of(side, static_cast<int>(landmark)))];
  };
  const bool overhead = priors.bar_position == BarPosition::Overhead;
  arms_fitted_ = used(kNear, FittedLandmark::Wrist) || used(kFar, FittedLandmark::Wrist) ||
                 (overhead && disc_seen_);
  result_.bar_fitted = priors.bar_position != BarPosition::None && (!overhead || arms_fitted_);
}

bool Reporter::reported(int channel) const {
  if (channel >= kinematics::kChannelCount) return true;
  switch (static_cast<Channel>(channel)) {
    case Channel::BarX:
    case Channel::BarY:
      return result_.bar_fitted;
    case Channel::ArmInclination:  // to the bar where there is one, else to the wrist
    case Channel::ShoulderElevation:
      return result_.bar_fitted || arms_fitted_;
    case Channel::ElbowFlexion:
      return arms_fitted_;
    case Channel::CenterOfMassX:
    case Channel::CenterOfMassY:
      return problem_.masses != nullptr;
    default:
      return true;
  }
}

Reporter::Instant Reporter::evaluate(const Parameters& parameters,
                                     const ArrowCovariance& covariance, double time) const {
  constexpr int kSize = kPoseSize + kGlobalSize;
  using Jet = ceres::Jet<double, kSize>;
  const PoseVector pose = parameters.pose(time), rate = parameters.pose_rate(time);
  std::array<Jet, kSize> x;
  for (std::size_t i = 0; i < kPoseSize; ++i) x[i] = Jet(pose[i], static_cast<int>(i));
  for (std::size_t i = 0; i < kGlobalSize; ++i) {
    x[kPoseSize + i] = Jet(parameters.global[i], static_cast<int>(kPoseSize + i));
  }
  std::array<Jet, kReportedCount> out;
  report_channels(x.data(), x.data() + kPoseSize, problem_.constants, problem_.masses, out.data());
  const KnotGrid::Weights weights = parameters.grid.weights(time);
  const Eigen::Matrix<double, kPoseSize, kPoseSize> local = covariance.local(weights);
  const Eigen::Matrix<double, kPoseSize, kBorderSize> response = covariance.response(weights);
  Instant instant;
  for (int c = 0; c < kReportedCount; ++c) {
    const Jet& jet = out[static_cast<std::size_t>(c)];
    const Eigen::Matrix<double, 1, kPoseSize> by_pose = jet.v.template head<kPoseSize>();
    instant.value[static_cast<std::size_t>(c)] = jet.a;
    double slope = 0;
    for (int i = 0; i < kPoseSize; ++i) slope += by_pose[i] * rate[static_cast<std::size_t>(i)];
    instant.rate[static_cast<std::size_t>(c)] = slope;
    instant.local_variance[static_cast<std::size_t>(c)] =
        std::max(0.0, (by_pose * local * by_pose.transpose()).value());
    instant.sensitivity.row(c) = by_pose * response;
    instant.sensitivity.row(c).template head<kGlobalSize>() += jet.v.template tail<kGlobalSize>();
  }
  return instant;
}

SharedErrors Reporter::shared_errors(const Parameters& parameters,
                                     const ArrowCovariance& covariance, double begin_time,
                                     double end_time) const {
  SharedErrors shared;
  const Eigen::LLT<Eigen::MatrixXd> factor(covariance.border());
  shared.factor = factor.matrixL();
  Eigen::MatrixXd gram = Eigen::MatrixXd::Zero(kBorderSize, kBorderSize);
  std::vector<std::size_t> frames;
  for (std::size_t i = 0; i < result_.time.size(); ++i) {
    if (result_.time[i] >= begin_time && result_.time[i] < end_time) frames.push_back(i);
  }
  const std::size_t step = std::max<std::size_t>(1, frames.size() / 60);
  for (std::size_t k = 0; k < frames.size(); k += step) {
    const Instant instant = evaluate(parameters, covariance, result_.time[frames[k]]);
    const Eigen::MatrixXd rows =
        instant.sensitivity.topRows<kinematics::kChannelCount>() * shared.factor;
    for (int c = 0; c < rows.rows(); ++c) {
      const double variance =
          rows.row(c).squaredNorm() + instant.local_variance[static_cast<std::size_t>(c)];
      if (variance > 0) gram += rows.row(c).transpose() * rows.row(c) / variance;
    }
  }
  const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> eigen(gram);
  shared.basis = eigen.eigenvectors().rightCols(ErrorModel::kSharedRank);
  return shared;
}

bool Reporter::fill(const Parameters& parameters, const ArrowCovariance& covariance,
                    const SharedErrors& shared, double begin_time, double end_time,
                    const WorkContext& context) {
  const double limit = problem_.options.gap_limit;
  for (std::size_t i = 0; i < result_.time.size(); ++i) {
    const double time = result_.time[i];
    if (time < begin_time || time >= end_time) continue;
    if (context.cancelled()) return false;
    const auto after = std::lower_bound(observed_times_.begin(), observed_times_.end(), time);
    double nearest = std::numeric_limits<double>::infinity();
    if (after != observed_times_.end()) nearest = *after - time;
    if (after != observed_times_.begin()) nearest = std::min(nearest, time - *(after - 1));
    if (nearest > limit) continue;
    const Instant instant = evaluate(parameters, covariance, time);
    const Eigen::MatrixXd rows = instant.sensitivity * shared.factor;
    for (int c = 0; c < kReportedCount; ++c) {
      if (!reported(c)) continue;
      FittedSeries& series = *series_of(result_, c);
      const auto k = static_cast<std::size_t>(c);
      series.value[i] = instant.value[k];
      series.rate[i] = instant.rate[k];
      series.standard_error[i] = std::sqrt(instant.local_variance[k] + rows.row(c).squaredNorm());
    }
    table_->shared[i] =
        (rows.topRows<kinematics::kChannelCount>() * shared.basis).template cast<float>();
    write_points(parameters, time, i);
  }
  return true;
}

void Reporter::write_points(const Parameters& parameters, double time, std::size_t frame) {
  const PoseVector q = parameters.pose(time);
  const double* g = parameters.global.data();
  const ModelConstants& constants = problem_.constants;
  Chain<double> chain(q.data(), g, constants);
  chain.place_all();
  const double stagger = g[at(GlobalQuantity::FootStagger)];
  std::array<Eigen::Vector3d, kinematics::kFigurePointCount> points;
  points.fill(Eigen::Vector3d(kNone, kNone, kNone));
  const auto set = [&](FigurePoint point, const Eigen::Vector3d& p, double share) {
    points[static_cast<std::size_t>(point)] = p + Eigen::Vector3d(share * stagger, 0, 0);
  };
  const double middle = chain.mid_foot();
  set(FigurePoint::Toe, chain.toe, 0.5);
  set(FigurePoint::Heel, chain.heel, 0.5);
  set(FigurePoint::Ankle, chain.ankle, 0.5);
  set(FigurePoint::Knee, chain.knee, 0.25);
  set(FigurePoint::Hip, chain.hip, 0);
  set(FigurePoint::Shoulder, chain.shoulder, 0);
  if (arms_fitted_) {
    set(FigurePoint::Elbow, chain.elbow, 0);
    set(FigurePoint::Wrist, chain.wrist, 0);
  }
  if (result_.bar_fitted) {
    const Eigen::Vector2d bar = chain.bar();
    const double z = constants.disc_radius > 0 ? g[at(GlobalQuantity::DiscPlaneOffset)]
                                               : 0.5 * g[at(GlobalQuantity::GripWidth)];
    set(FigurePoint::Bar, {bar.x(), bar.y(), z}, 0);
  }
  set(FigurePoint::MidFoot, {middle, q[kDriftY], 0.5 * g[at(GlobalQuantity::StanceWidth)]}, 0.5);
  const Eigen::Vector2d up = along(q[kTrunk]);
  set(FigurePoint::Head,
      {chain.shoulder.x() + constants.head_neck * up.x(),
       chain.shoulder.y() + constants.head_neck * up.y(), 0},
      0);

  const kinematics::PinholeCamera<double> camera = camera_of(g, constants);
  const bool mirrored = problem_.clip->mirrored;
  for (std::size_t k = 0; k < points.size(); ++k) {
    if (points[k].hasNaN()) continue;
    Eigen::Vector2d u = project(camera, points[k]);
    if (mirrored) u.x() = width_px_ - u.x();
    result_.figures[frame][k] = u.cast<float>();
    Eigen::Vector3d p = points[k] - Eigen::Vector3d(middle - q[kDriftX], 0, 0);
    if (mirrored) p.z() = -p.z();
    result_.points[frame][k] = p;
  }
}

void Reporter::write_camera(const Parameters& parameters) {
  using Q = GlobalQuantity;
  kinematics::CameraCheck& camera = result_.camera;
  camera.view = kinematics::View::Side;
  camera.near_side = priors_.near_side;
  camera.facing = priors_.facing < 0 ? -1 : 1;
  camera.yaw = result_[Q::Yaw];
  camera.pitch = result_[Q::Pitch];
  camera.roll = result_[Q::Roll];
  camera.distance = result_[Q::CameraDistance];
  // Scale f / d: its error from the two logarithms together.
  const double scale = std::exp(parameters.global[static_cast<std::size_t>(at(Q::FocalLength))] -
                                parameters.global[static_cast<std::size_t>(at(Q::CameraDistance))]);
  camera.pixels_per_metre.value = scale;
  camera.scale_source =
      disc_seen_ ? kinematics::ScaleSource::Disc : kinematics::ScaleSource::Stature;
  camera.yaw_corrected = true;
}

FitResult Reporter::take(const Parameters& parameters, const ArrowCovariance& main_covariance) {
  using Q = GlobalQuantity;
  const Eigen::MatrixXd& border = main_covariance.border();
  for (int k = 0; k < kGlobalSize; ++k) {
    Estimate& estimate = result_.globals[static_cast<std::size_t>(k)];
    estimate.value = parameters.global[static_cast<std::size_t>(k)];
    estimate.standard_error = std::sqrt(std::max(0.0, border(k, k)));
  }
  for (const Q quantity : {Q::CameraDistance, Q::FocalLength, Q::DiscScale, Q::DiscAspect}) {
    Estimate& estimate = result_.globals[static_cast<std::size_t>(at(quantity))];
    estimate.value = std::exp(estimate.value);
    estimate.standard_error *= estimate.value;
  }
  if (problem_.clip->mirrored) {
    result_.globals[static_cast<std::size_t>(at(Q::Roll))].value *= -1.0;
  }
  write_camera(parameters);
  const int f = at(Q::FocalLength), d = at(Q::CameraDistance);
  const double relative =
      std::sqrt(std::max(0.0, border(f, f) + border(d, d) - 2.0 * border(f, d)));
  result_.camera.pixels_per_metre.standard_error = relative * result_.camera.pixels_per_metre.value;
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    table_->standard_error[static_cast<std::size_t>(c)] =
        result_.channels[static_cast<std::size_t>(c)].standard_error;
  }
  result_.errors = ErrorModel(table_);
  return std::move(result_);
}

}  // namespace lintel::fitting
