#include "kinematics/camera_turn.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "kinematics/landmarks.h"

namespace lintel::kinematics {
namespace {

using body::Segment;
constexpr double kInfinity = std::numeric_limits<double>::infinity();
constexpr double kStandingShare = 0.93;

// Breadths in shares of the chain ankle - knee - hip - shoulder, and their relative spread between
// people: joint centres 0.35 and 0.18 m apart over 1.33 m (usual proportions, from memory). The
// landmarks of shoulders and hips are not quite the joint centres, hence no spread below
// kLandmarkBreadthSpread even for known lengths.
constexpr double kShouldersPerChain = 0.26;
constexpr double kHipsPerChain = 0.135;
constexpr double kShouldersSpread = 0.12;
constexpr double kHipsSpread = 0.20;
constexpr double kLandmarkBreadthSpread = 0.08;
// Placement of the hidden far landmark across the picture, share of the chain (2 cm), and how far
// shoulders or hips commonly stand turned against the feet [rad] (judgement).
constexpr double kFarLandmarkError = 0.015;
constexpr double kBodyTwist = 4.0 * kRadiansPerDegree;
// A bar that is held a little askew turns the disc, not the camera (judgement).
constexpr double kBarTwist = 2.0 * kRadiansPerDegree;
constexpr double kAxisRatioError = 0.005;  // systematic, of a rim measured to half a pixel in 100
// Plumb line of a standing body from the side: the shoulders stand over mid-foot, 4 cm ahead of
// the ankles over 1.3 m of chain; from the front it is truer (judgement).
constexpr double kSideLean = 1.7 * kRadiansPerDegree;
constexpr double kSideLeanError = 2.5 * kRadiansPerDegree;
constexpr double kFrontLeanError = 1.5 * kRadiansPerDegree;
constexpr double kFeetLineError = 2.0 * kRadiansPerDegree;
// Horizontal drift of the bar between standing and bottom [m] (judgement; 2 to 4 cm are usual).
constexpr double kBarDrift = 0.03;
constexpr double kLeastBarTravel = 0.25;  // [m]

bool is_finite(const Eigen::Vector2d& p) {
  return std::isfinite(p.x()) && std::isfinite(p.y());
}

// x of left minus x of right after taking out the roll, median over the frames [px].
double left_minus_right_px(const ClipObservation& clip, std::span<const std::size_t> frames,
                           PairedLandmark joint, double roll) {
  std::vector<double> values;
  for (const std::size_t i : frames) {
    const BodyObservation& body = *clip.frames[i].body;
    const Eigen::Vector2d d =
        point_px(body, joint, BodySide::Left) - point_px(body, joint, BodySide::Right);
    if (is_finite(d)) values.push_back(std::cos(roll) * d.x() + std::sin(roll) * d.y());
  }
  return median_of(std::move(values));
}

struct Breadth {
  PairedLandmark joint;
  double per_chain;
  double spread;
};

std::array<Breadth, 2> breadths(const std::optional<body::SegmentLengths>& lengths) {
  std::array<Breadth, 2> out = {{{PairedLandmark::Shoulder, kShouldersPerChain, kShouldersSpread},
                                 {PairedLandmark::Hip, kHipsPerChain, kHipsSpread}}};
  if (!lengths) return out;
  const Estimate chain = standing_chain(*lengths);
  const std::array<Segment, 2> segments = {Segment::InterShoulder, Segment::InterHip};
  for (std::size_t i = 0; i < out.size(); ++i) {
    const Estimate& length = (*lengths)[segments[i]];
    if (!(length.value > 0) || !(chain.value > 0)) continue;
    out[i].per_chain = length.value / chain.value;
    out[i].spread = std::hypot(length.standard_error / length.value, kLandmarkBreadthSpread);
  }
  return out;
}

// Half-lengths of the disc's ellipse along and across the upright direction [px].
struct Moments {
  double along;
  double across;
};
Moments moments_of(const DiscObservation& disc, double roll) {
  const double a = static_cast<double>(disc.semi_major_px);
  const double b = static_cast<double>(disc.semi_minor_px);
  const double angle = static_cast<double>(disc.major_axis_angle) - roll;
  const double c = std::cos(angle), s = std::sin(angle);
  return {std::hypot(a * s, b * c), std::hypot(a * c, b * s)};
}

}  // namespace

double median_of(std::vector<double> values) {
  if (values.empty()) return std::numeric_limits<double>::quiet_NaN();
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

Estimate weighted_mean(std::span<const Estimate> estimates) {
  double weight = 0, sum = 0;
  for (const Estimate& e : estimates) {
    if (!(e.standard_error > 0) || !std::isfinite(e.standard_error) || !std::isfinite(e.value))
      continue;
    const double w = 1.0 / (e.standard_error * e.standard_error);
    weight += w;
    sum += w * e.value;
  }
  if (weight == 0) return {0.0, kInfinity};
  return {sum / weight, 1.0 / std::sqrt(weight)};
}

std::vector<std::size_t> standing_frames_of(const ClipObservation& clip) {
  std::vector<double> height(clip.frames.size(), -kInfinity);
  std::vector<double> known;
  for (std::size_t i = 0; i < clip.frames.size(); ++i) {
    if (!clip.frames[i].body) continue;
    const BodyObservation& body = *clip.frames[i].body;
    const double h =
        (midpoint_px(body, PairedLandmark::Ankle) - midpoint_px(body, PairedLandmark::Hip)).norm();
    if (!std::isfinite(h)) continue;
    height[i] = h;
    known.push_back(h);
  }
  std::vector<std::size_t> out;
  if (known.empty()) return out;
  const auto at = static_cast<std::ptrdiff_t>(0.95 * static_cast<double>(known.size() - 1));
  std::nth_element(known.begin(), known.begin() + at, known.end());
  const double high = known[static_cast<std::size_t>(at)];
  for (std::size_t i = 0; i < height.size(); ++i) {
    if (height[i] >= kStandingShare * high) out.push_back(i);
  }
  return out;
}

double standing_chain_px(const ClipObservation& clip, std::span<const std::size_t> frames) {
  std::vector<double> values;
  for (const std::size_t i : frames) {
    const BodyObservation& body = *clip.frames[i].body;
    const Eigen::Vector2d ankle = midpoint_px(body, PairedLandmark::Ankle);
    const Eigen::Vector2d knee = midpoint_px(body, PairedLandmark::Knee);
    const Eigen::Vector2d hip = midpoint_px(body, PairedLandmark::Hip);
    const Eigen::Vector2d shoulder = midpoint_px(body, PairedLandmark::Shoulder);
    const double chain = (knee - ankle).norm() + (hip - knee).norm() + (shoulder - hip).norm();
    if (std::isfinite(chain)) values.push_back(chain);
  }
  return median_of(std::move(values));
}

Estimate standing_chain(const body::SegmentLengths& lengths) {
  constexpr double kLandmarkPlacement = 0.03;  // relative: landmarks against joint centres
  Estimate out;
  double variance = 0;
  for (const Segment s : {Segment::Shank, Segment::Thigh, Segment::Trunk}) {
    out.value += lengths[s].value;
    variance += lengths[s].standard_error * lengths[s].standard_error;
  }
  out.standard_error = std::sqrt(variance + std::pow(kLandmarkPlacement * out.value, 2));
  return out;
}

Estimate turn_from_breadths(const ClipObservation& clip, std::span<const std::size_t> frames,
                            const std::optional<body::SegmentLengths>& lengths, double roll) {
  const double chain = standing_chain_px(clip, frames);
  if (!(chain > 0)) return {0.0, kInfinity};
  std::array<Estimate, 2> parts;
  const std::array<Breadth, 2> breadth = breadths(lengths);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Breadth& b = breadth[i];
    const double sine = left_minus_right_px(clip, frames, b.joint, roll) / (b.per_chain * chain);
    const double turn = std::asin(std::clamp(sine, -1.0, 1.0));
    // d(turn) = d(sine) / cos(turn); near a front view the sine says little: no less than 0.25.
    const double cosine = std::max(0.25, std::cos(turn));
    const double from_points = std::numbers::sqrt2 * kFarLandmarkError / b.per_chain / cosine;
    const double from_breadth = std::abs(std::sin(turn)) * b.spread / cosine;
    parts[i] = {turn, std::hypot(from_points, from_breadth)};
  }
  Estimate out = weighted_mean(parts);
  out.standard_error = std::hypot(out.standard_error, kBodyTwist);
  return out;
}

DiscTurn turn_from_disc(const ClipObservation& clip, double roll, double focal_px) {
  std::vector<double> right, up;
  double width = 0, height = 0, count = 0, ratio_squares = 0;
  for (const FrameObservation& frame : clip.frames) {
    if (!frame.disc || !(frame.disc->semi_major_px > 0)) continue;
    const Moments m = moments_of(*frame.disc, roll);
    const double size = m.along * m.across;  // every frame counts the same
    width += m.across * m.across / size;
    height += m.along * m.along / size;
    ratio_squares += std::pow(m.across / m.along, 2);
    count += 1;
    right.push_back(static_cast<double>(frame.disc->center_px.x()) - 0.5 * clip.width_px);
    up.push_back(static_cast<double>(frame.disc->center_px.y()) - 0.5 * clip.height_px);
  }
  if (count == 0) return {{0.0, kInfinity}, 0.0};
  const double ratio = std::sqrt(width / height);
  const double spread = std::sqrt(std::max(0.0, ratio_squares / count - ratio * ratio));
  const double error = std::hypot(kAxisRatioError, spread / std::sqrt(count));
  DiscTurn out;
  out.sight = clip.width_px > 0 ? std::atan(median_of(right) / focal_px) : 0.0;
  const double elevation = clip.height_px > 0 ? median_of(up) / focal_px : 0.0;
  // A disc above or below the camera's axis is also sheared by its turn, which adds to its height:
  // by sqrt(1 + q^2), q = elevation * sine of the turn. Twice around is enough.
  double angle = std::acos(std::clamp(ratio * std::cos(out.sight), 0.0, 1.0));
  for (int round = 0; round < 2; ++round) {
    const double q = elevation * std::sin(angle);
    angle = std::acos(std::clamp(ratio * std::cos(out.sight) * std::sqrt(1.0 + q * q), 0.0, 1.0));
  }
  // d(angle) = d(ratio) / sin(angle); at 0 the error of the ratio alone makes sqrt(2 error).
  const double slope = std::max(std::sin(angle), std::sqrt(2.0 * error));
  out.angle = {angle, std::hypot(error / slope, kBarTwist)};
  return out;
}

Estimate disc_half_height_px(const ClipObservation& clip, double roll) {
  constexpr double kOutlier = 0.10;
  constexpr double kLeastError = 0.25;  // [px] of one frame
  std::vector<double> heights;
  for (const FrameObservation& frame : clip.frames) {
    if (frame.disc && frame.disc->semi_major_px > 0) {
      heights.push_back(moments_of(*frame.disc, roll).along);
    }
  }
  if (heights.empty()) return {0.0, kInfinity};
  const double median = median_of(heights);
  double weight = 0, sum = 0, squares = 0, count = 0;
  for (const FrameObservation& frame : clip.frames) {
    if (!frame.disc || !(frame.disc->semi_major_px > 0)) continue;
    const double height = moments_of(*frame.disc, roll).along;
    if (!(std::abs(height - median) <= kOutlier * median)) continue;
    const double error =
        std::max(kLeastError, static_cast<double>(frame.disc->semi_axis_standard_error_px));
    const double w = 1.0 / (error * error);
    weight += w;
    sum += w * height;
    squares += w * height * height;
    count += 1;
  }
  const double mean = sum / weight;
  const double spread = std::sqrt(std::max(0.0, squares / weight - mean * mean));
  // Frames share what disturbs them (light, rim against wall): a tenth of them counts. Half a pixel
  // of the rim's width stays.
  const double random = spread / std::sqrt(std::max(1.0, 0.1 * count));
  return {mean, std::hypot(random, 0.5)};
}

Estimate roll_from_scene(const ClipObservation& clip, std::span<const std::size_t> frames,
                         double facing, bool front, double disc_radius) {
  std::vector<Estimate> parts;
  std::vector<double> plumb, feet;
  for (const std::size_t i : frames) {
    const BodyObservation& body = *clip.frames[i].body;
    const Eigen::Vector2d up =
        midpoint_px(body, PairedLandmark::Shoulder) - midpoint_px(body, PairedLandmark::Ankle);
    if (is_finite(up)) plumb.push_back(std::atan2(up.x(), -up.y()));
    Eigen::Vector2d across = point_px(body, PairedLandmark::Ankle, BodySide::Left) -
                             point_px(body, PairedLandmark::Ankle, BodySide::Right);
    if (across.x() < 0) across = -across;
    if (is_finite(across)) feet.push_back(std::atan2(across.y(), across.x()));
  }
  if (!plumb.empty()) {
    const double lean = front ? 0.0 : facing * kSideLean;
    parts.push_back({median_of(plumb) - lean, front ? kFrontLeanError : kSideLeanError});
  }
  if (front && !feet.empty()) parts.push_back({median_of(feet), kFeetLineError});

  // Bar path: disc while standing against disc at its lowest.
  const Estimate axis = disc_half_height_px(clip, 0.0);
  if (!front && std::isfinite(axis.standard_error)) {
    Eigen::Vector2d high(0, kInfinity), low(0, -kInfinity);
    for (const FrameObservation& frame : clip.frames) {
      if (!frame.disc) continue;
      const Eigen::Vector2d c = frame.disc->center_px.cast<double>();
      if (c.y() < high.y()) high = c;
      if (c.y() > low.y()) low = c;
    }
    const double travel = (high - low).norm() / axis.value * disc_radius;
    if (travel >= kLeastBarTravel) {
      parts.push_back({std::atan2(high.x() - low.x(), low.y() - high.y()), kBarDrift / travel});
    }
  }
  return weighted_mean(parts);
}

}  // namespace lintel::kinematics
