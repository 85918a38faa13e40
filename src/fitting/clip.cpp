#include "fitting/clip.h"

#include <algorithm>
#include <cmath>

namespace lintel::fitting {
namespace {

using kinematics::BodySide;
using kinematics::FrameObservation;
using kinematics::Landmark;

Landmark landmark_of(FittedLandmark landmark, BodySide side) {
  const bool left = side == BodySide::Left;
  switch (landmark) {
    case FittedLandmark::Shoulder:
      return left ? Landmark::LeftShoulder : Landmark::RightShoulder;
    case FittedLandmark::Elbow:
      return left ? Landmark::LeftElbow : Landmark::RightElbow;
    case FittedLandmark::Wrist:
      return left ? Landmark::LeftWrist : Landmark::RightWrist;
    case FittedLandmark::Hip:
      return left ? Landmark::LeftHip : Landmark::RightHip;
    case FittedLandmark::Knee:
      return left ? Landmark::LeftKnee : Landmark::RightKnee;
    case FittedLandmark::Ankle:
      return left ? Landmark::LeftAnkle : Landmark::RightAnkle;
    case FittedLandmark::Heel:
      return left ? Landmark::LeftHeel : Landmark::RightHeel;
    case FittedLandmark::Toe:
      break;
  }
  return left ? Landmark::LeftToe : Landmark::RightToe;
}

double median(std::vector<double> values) {
  const std::size_t middle = values.size() / 2;
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(middle),
                   values.end());
  return values[middle];
}

Error invalid(std::string message, std::string field, std::int64_t frame, std::string mend) {
  return Error{ErrorCode::Invalid,
               std::move(message),
               {{}, 0, 0, std::move(field), frame},
               std::move(mend),
               {}};
}

Result<void> check(const kinematics::ClipObservation& clip, const FitPriors& priors,
                   const FitOptions& options) {
  if (clip.width_px <= 0 || clip.height_px <= 0) {
    return fail(invalid("the picture has no size", "clip.width_px", -1, "give the picture's size"));
  }
  double last = -1e300;
  for (const FrameObservation& frame : clip.frames) {
    if (!std::isfinite(frame.time) || frame.time <= last) {
      return fail(invalid("times must rise from frame to frame", "clip.frames.time", frame.index,
                          "decode the clip again, in the order of its time stamps"));
    }
    last = frame.time;
  }
  for (int i = 0; i < body::kSegmentCount; ++i) {
    const Estimate& length = priors.lengths.length[static_cast<std::size_t>(i)];
    if (!(length.value > 0) || !(length.value < 3) || !(length.standard_error >= 0) ||
        !std::isfinite(length.standard_error)) {
      return fail(invalid("a segment length is missing or impossible",
                          "priors.lengths." + std::to_string(i), -1, "enter the stature"));
    }
  }
  if (priors.disc_diameter && !(*priors.disc_diameter > 0.05 && *priors.disc_diameter < 1.0)) {
    return fail(invalid("the disc's diameter must be 0.05 to 1 m", "priors.disc_diameter", -1,
                        "enter the diameter of the largest disc"));
  }
  const bool options_good = options.landmark_noise > 0 && options.knot_spacing > 0.01 &&
                            options.pooled_rate > 1 && options.window_frames >= 60 &&
                            options.max_iterations > 0 && options.motion_prior_scale > 0 &&
                            options.noise_correlation_time >= 0 &&
                            options.disc_correlation_time >= 0 && options.gap_limit > 0;
  if (!options_good) {
    return fail(
        invalid("an option of the fit is out of range", "options", -1, "use the default options"));
  }
  if (priors.masses && !(priors.masses->body_mass > 0 && priors.masses->bar_mass >= 0)) {
    return fail(invalid("the body mass must be positive", "priors.masses.body_mass", -1,
                        "enter the body mass or leave the masses out"));
  }
  return {};
}

// One group of neighbouring frames into one; positions by the mean of what lies near the median.
class Pool {
 public:
  Pool(const kinematics::ClipObservation& clip, const FitPriors& priors, bool mirrored)
      : clip_(clip), priors_(priors), mirrored_(mirrored) {}

  PooledFrame pool(std::size_t begin, std::size_t end) const {
    PooledFrame pooled;
    for (std::size_t i = begin; i < end; ++i) pooled.time += clip_.frames[i].time;
    pooled.time /= static_cast<double>(end - begin);
    for (int side = 0; side < 2; ++side) {
      const bool near = side == kNear;
      const bool left = (priors_.near_side == BodySide::Left) == near;
      for (int k = 0; k < kFittedLandmarkCount; ++k) {
        const Landmark landmark =
            landmark_of(static_cast<FittedLandmark>(k), left ? BodySide::Left : BodySide::Right);
        PooledLandmark& out =
            pooled.landmarks[static_cast<std::size_t>(side)][static_cast<std::size_t>(k)];
        out = pool_landmark(landmark, begin, end);
        pooled.has_body = pooled.has_body || out.seen;
      }
    }
    pooled.disc = pool_disc(begin, end);
    return pooled;
  }

 private:
  double flip(double x) const { return mirrored_ ? clip_.width_px - x : x; }

  PooledLandmark pool_landmark(Landmark landmark, std::size_t begin, std::size_t end) const {
    // A network always answers; what lies outside of the picture it has not seen.
    const double margin_x = 0.02 * clip_.width_px, margin_y = 0.02 * clip_.height_px;
    std::vector<double> xs, ys, confidences;
    const bool by_hand = has_point_by_hand(landmark, begin, end);
    for (std::size_t i = begin; i < end; ++i) {
      const auto& body = clip_.frames[i].body;
      if (!body) continue;
      const auto& seen = (*body)[landmark];
      if (by_hand && !seen.by_hand) continue;
      const double x = static_cast<double>(seen.position_px.x());
      const double y = static_cast<double>(seen.position_px.y());
      const double confidence = static_cast<double>(seen.confidence);
      const bool inside = x > -margin_x && x < clip_.width_px + margin_x && y > -margin_y &&
                          y < clip_.height_px + margin_y;
      if (!inside || !(confidence > 0.02)) continue;  // also false for NaN
      xs.push_back(flip(x));
      ys.push_back(y);
      confidences.push_back(std::min(confidence, 1.0));
    }
    PooledLandmark pooled;
    if (xs.empty()) return pooled;
    const double mx = median(xs), my = median(ys);
    std::vector<double> away(xs.size());
    for (std::size_t i = 0; i < xs.size(); ++i) away[i] = std::hypot(xs[i] - mx, ys[i] - my);
    const double limit = 3.0 * median(away) + 1e-9;
    double weight = 0;
    for (std::size_t i = 0; i < xs.size(); ++i) {
      if (away[i] > limit) continue;
      pooled.px += confidences[i] * Eigen::Vector2d(xs[i], ys[i]);
      weight += confidences[i];
    }
    if (weight <= 0) {
      pooled.px = {mx, my};
    } else {
      pooled.px /= weight;
    }
    pooled.confidence = median(confidences);
    pooled.seen = true;
    pooled.by_hand = by_hand;
    return pooled;
  }

  bool has_point_by_hand(Landmark landmark, std::size_t begin, std::size_t end) const {
    for (std::size_t i = begin; i < end; ++i) {
      const auto& body = clip_.frames[i].body;
      if (body && (*body)[landmark].by_hand) return true;
    }
    return false;
  }

  std::optional<PooledDisc> pool_disc(std::size_t begin, std::size_t end) const {
    if (!priors_.disc_diameter || priors_.bar_position == BarPosition::None) return std::nullopt;
    PooledDisc sum;
    double count = 0;
    for (std::size_t i = begin; i < end; ++i) {
      const auto& disc = clip_.frames[i].disc;
      if (!disc) continue;
      const double a = static_cast<double>(disc->semi_major_px);
      const double b = static_cast<double>(disc->semi_minor_px);
      const double angle = static_cast<double>(disc->major_axis_angle);
      const Eigen::Vector2d center = disc->center_px.cast<double>();
      if (!(a > 2 && b > 0.2 * a && a < clip_.width_px) || !center.allFinite() ||
          !std::isfinite(angle)) {
        continue;
      }
      const double c = std::cos(angle), s = std::sin(angle);
      sum.center_px += Eigen::Vector2d(flip(center.x()), center.y());
      sum.sxx += a * a * c * c + b * b * s * s;
      sum.syy += a * a * s * s + b * b * c * c;
      sum.sxy += (mirrored_ ? -1.0 : 1.0) * (a * a - b * b) * c * s;
      sum.semi_major_px += a;
      // An edge is not known better than a quarter of a pixel, whatever the fit to it says.
      sum.center_error_px += std::max(0.25, static_cast<double>(disc->center_standard_error_px));
      sum.axis_error_px += std::max(0.25, static_cast<double>(disc->semi_axis_standard_error_px));
      count += 1;
    }
    if (count == 0) return std::nullopt;
    sum.center_px /= count;
    for (double* value : {&sum.sxx, &sum.sxy, &sum.syy, &sum.semi_major_px, &sum.center_error_px,
                          &sum.axis_error_px}) {
      *value /= count;
    }
    return sum;
  }

  const kinematics::ClipObservation& clip_;
  const FitPriors& priors_;
  bool mirrored_;
};

}  // namespace

Result<PooledClip> pool_clip(const kinematics::ClipObservation& clip, const FitPriors& priors,
                             const FitOptions& options) {
  LINTEL_TRY_VOID(check(clip, priors, options));
  PooledClip pooled;
  pooled.width_px = clip.width_px;
  pooled.height_px = clip.height_px;
  pooled.mirrored = priors.facing < 0;
  if (clip.frames.empty()) return pooled;

  std::vector<double> steps;
  for (std::size_t i = 1; i < clip.frames.size(); ++i) {
    steps.push_back(clip.frames[i].time - clip.frames[i - 1].time);
  }
  const double step = steps.empty() ? 0.0 : median(steps);
  const double wanted = 1.0 / options.pooled_rate;
  const bool every_frame = step >= 0.75 * wanted || steps.empty();
  const Pool pool(clip, priors, pooled.mirrored);
  for (std::size_t begin = 0; begin < clip.frames.size();) {
    std::size_t end = begin + 1;
    if (!every_frame) {
      while (end < clip.frames.size() &&
             clip.frames[end].time - clip.frames[begin].time < wanted - 0.25 * step) {
        ++end;
      }
    }
    pooled.frames.push_back(pool.pool(begin, end));
    begin = end;
  }
  steps.clear();
  for (std::size_t i = 1; i < pooled.frames.size(); ++i) {
    steps.push_back(pooled.frames[i].time - pooled.frames[i - 1].time);
  }
  pooled.spacing = steps.empty() ? 1e9 : median(steps);
  return pooled;
}

}  // namespace lintel::fitting
