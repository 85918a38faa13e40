#include "kinematics/raw_curves.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "kinematics/landmarks.h"
#include "kinematics/sagittal_angles.h"

namespace lintel::kinematics {
namespace {

constexpr double kNaN = std::numeric_limits<double>::quiet_NaN();

using Point = Eigen::Vector2d;
using Curves = std::array<std::vector<double>, kChannelCount>;

// Near-side points of one frame in the sagittal frame of the picture [px], X forward, Y up.
struct SidePoints {
  Point shoulder, elbow, wrist, hip, knee, ankle, heel, toe;
};

std::vector<double>& curve(Curves& curves, Channel channel) {
  return curves[static_cast<std::size_t>(channel)];
}

SidePoints side_points(const BodyObservation& body, const CameraCheck& check,
                       LandmarkChoice choice) {
  const auto point = [&](PairedLandmark joint) {
    const LandmarkObservation& landmark = at(body, joint, check.near_side);
    const Eigen::Vector2f& px =
        choice == LandmarkChoice::Refined ? landmark.position_px : landmark.regressed_px;
    return sagittal_from_picture<double>(px.cast<double>(), check.facing, check.roll.value);
  };
  return {point(PairedLandmark::Shoulder), point(PairedLandmark::Elbow),
          point(PairedLandmark::Wrist),    point(PairedLandmark::Hip),
          point(PairedLandmark::Knee),     point(PairedLandmark::Ankle),
          point(PairedLandmark::Heel),     point(PairedLandmark::Toe)};
}

double median(std::vector<double> values) {
  std::erase_if(values, [](double v) { return !std::isfinite(v); });
  if (values.empty()) return kNaN;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

// Median of `value` over the tenth of the frames (at least one) with the highest hips.
double standing_value(const std::vector<double>& value, const std::vector<double>& hip_height) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < value.size(); ++i) {
    if (std::isfinite(value[i]) && std::isfinite(hip_height[i])) order.push_back(i);
  }
  if (order.empty()) return kNaN;
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return hip_height[a] > hip_height[b]; });
  order.resize(std::max<std::size_t>(1, order.size() / 10));
  std::vector<double> standing;
  for (const std::size_t i : order) standing.push_back(value[i]);
  return median(std::move(standing));
}

void subtract(std::vector<double>& values, double offset) {
  for (double& value : values) value -= offset;
}

void write_angles(Curves& curves, std::size_t i, const SidePoints& p, const Point& hand,
                  bool elbow_known) {
  const double trunk = trunk_inclination(p.hip, p.shoulder);
  const double thigh = thigh_inclination(p.knee, p.hip);
  const double shank = shank_inclination(p.ankle, p.knee);
  const double arm = arm_inclination(p.shoulder, hand);
  curve(curves, Channel::TrunkInclination)[i] = trunk;
  curve(curves, Channel::ThighInclination)[i] = thigh;
  curve(curves, Channel::ShankInclination)[i] = shank;
  curve(curves, Channel::FootInclination)[i] = foot_inclination(p.heel, p.toe);
  curve(curves, Channel::ArmInclination)[i] = arm;
  curve(curves, Channel::KneeFlexion)[i] = knee_flexion(thigh, shank);
  curve(curves, Channel::HipFlexion)[i] = hip_flexion(trunk, thigh);
  curve(curves, Channel::ShoulderElevation)[i] = shoulder_elevation(trunk, arm);
  if (elbow_known) {
    curve(curves, Channel::ElbowFlexion)[i] = elbow_flexion(p.shoulder, p.elbow, p.wrist);
  }
}

}  // namespace

Curves raw_curves(const ClipObservation& clip, const CameraCheck& check,
                  const RawCurveOptions& options) {
  Curves curves;
  for (auto& values : curves) values.assign(clip.frames.size(), kNaN);
  const double scale = check.pixels_per_metre.value;
  const bool scaled = check.scale_source != ScaleSource::None && scale > 0;

  std::vector<double> mid_foot_x(clip.frames.size(), kNaN);
  std::vector<double> toe_y(clip.frames.size(), kNaN);
  std::vector<double> radius_px;
  for (const FrameObservation& frame : clip.frames) {
    if (frame.disc) radius_px.push_back(frame.disc->semi_major_px);
  }
  const double disc_scale = median(radius_px) / options.disc_radius;  // NaN without a disc

  for (std::size_t i = 0; i < clip.frames.size(); ++i) {
    const FrameObservation& frame = clip.frames[i];
    if (!frame.body) continue;
    const SidePoints p = side_points(*frame.body, check, options.landmarks);
    const bool by_disc = options.bar_from_disc && frame.disc.has_value();
    const Point hand = by_disc ? sagittal_from_picture<double>(frame.disc->center_px.cast<double>(),
                                                               check.facing, check.roll.value)
                               : p.wrist;
    write_angles(curves, i, p, hand, !by_disc);
    mid_foot_x[i] = 0.5 * (p.heel.x() + p.toe.x());
    toe_y[i] = p.toe.y();
    if (!scaled) continue;
    const double bar_scale = by_disc && std::isfinite(disc_scale) ? disc_scale : scale;
    curve(curves, Channel::HeelLift)[i] = p.heel.y() / scale;
    curve(curves, Channel::Depth)[i] = (p.knee.y() - p.hip.y()) / scale;
    curve(curves, Channel::HipHeight)[i] = p.hip.y() / scale;
    curve(curves, Channel::BarX)[i] = hand.x() / bar_scale;
    curve(curves, Channel::BarY)[i] = hand.y() / bar_scale;
  }

  // From the picture's origin to the floor under mid-foot, which does not move.
  const double foot_x = median(mid_foot_x);
  const double floor_y = median(toe_y);
  for (std::size_t i = 0; scaled && i < clip.frames.size(); ++i) {
    const bool by_disc = options.bar_from_disc && clip.frames[i].disc.has_value();
    const double bar_scale = by_disc && std::isfinite(disc_scale) ? disc_scale : scale;
    curve(curves, Channel::BarX)[i] -= foot_x / bar_scale;
    curve(curves, Channel::BarY)[i] -= floor_y / bar_scale;
  }
  if (scaled) subtract(curve(curves, Channel::HipHeight), floor_y / scale);
  const std::vector<double>& hips = curve(curves, Channel::HipHeight);
  std::vector<double>& foot = curve(curves, Channel::FootInclination);
  if (scaled) {
    subtract(foot, standing_value(foot, hips));
    std::vector<double>& lift = curve(curves, Channel::HeelLift);
    subtract(lift, standing_value(lift, hips));
  } else {
    subtract(foot, median(foot));
  }
  std::vector<double>& ankle = curve(curves, Channel::AnkleDorsiflexion);
  const std::vector<double>& shank = curve(curves, Channel::ShankInclination);
  for (std::size_t i = 0; i < ankle.size(); ++i) ankle[i] = ankle_dorsiflexion(shank[i], foot[i]);
  return curves;
}

}  // namespace lintel::kinematics
