#include "bar/disc_tracker.h"

#include <algorithm>
#include <cmath>

#include "base/units.h"

namespace lintel::bar {

namespace {

constexpr double kAcceleration = 1.5 * kGravity;  // [m/s^2] a pulled or dropped bar, with margin
constexpr double kStartSpeed = 1.5;               // [m/s] of a bar when a track begins
constexpr double kFarFromExpected = 2.2;          // [standard deviations] keeps far discs out
constexpr int kPatience = 10;                     // searches with the radius of a lost track
constexpr double kRadiusBand = 0.15;              // of the known radius, searched while following
constexpr double kRadiusJump = 0.07;              // of the running radius, accepted
constexpr double kReachOfHands = 2.2;  // [radii] disc centre from the nearer wrist, see below
// Side view, 0.65 m from disc plane to the body's middle: perspective moves the near disc by up to
// half a radius against the hands, a camera turned by 20 degrees by another radius.

double limited_spread(double spread) {
  return std::clamp(spread, 0.03, 0.4);
}

struct RadiusPrior {
  double radius_px = 0;  // 0: unknown
  double spread = 0.2;   // relative
};

RadiusPrior radius_prior(const DiscHint& hint) {
  if (hint.expected_radius_px > 0 && std::isfinite(hint.expected_radius_px))
    return {hint.expected_radius_px, limited_spread(hint.radius_spread)};
  if (hint.shoulder_px && hint.hip_px) {
    // Mid-shoulder to mid-hip is 0.515 m (de Leva 1996, male mean); a 0.225 m disc is 0.44 of that,
    // and about an eighth nearer to the camera.
    return {0.49 * (*hint.shoulder_px - *hint.hip_px).norm(), 0.25};
  }
  return {};
}

// Support, less for a rim whose edges scatter: a chance ellipse of several things.
double sharp(const Rim& rim) {
  return rim.support / (1 + rim.scatter_px / (0.3 + 0.005 * rim.ellipse.mean_radius_px));
}

std::optional<double> distance_to_hands(const DiscHint& hint, const Eigen::Vector2d& center) {
  std::optional<double> nearest;
  for (const auto& wrist : hint.wrist_px) {
    if (!wrist || !wrist->allFinite()) continue;
    const double d = (*wrist - center).norm();
    if (!nearest || d < *nearest) nearest = d;
  }
  return nearest;
}

}  // namespace

Window search_window(const DiscHint& hint, double radius_px, int width, int height) {
  const Window whole{{0, 0}, {static_cast<double>(width), static_cast<double>(height)}};
  Eigen::Vector2d low(1e9, 1e9), high(-1e9, -1e9);
  const auto cover = [&](const Eigen::Vector2d& p, double side, double up, double down) {
    if (!p.allFinite()) return;
    low = low.cwiseMin(p - radius_px * Eigen::Vector2d(side, up));
    high = high.cwiseMax(p + radius_px * Eigen::Vector2d(side, down));
  };
  if (hint.shoulder_px) cover(*hint.shoulder_px, 2.2, 5, hint.hip_px ? 0.4 : 2.8);
  if (hint.shoulder_px && hint.hip_px)
    cover({hint.shoulder_px->x(), hint.hip_px->y()}, 2.2, 0, 0.4);
  for (const auto& wrist : hint.wrist_px) {
    if (wrist) cover(*wrist, 2.2, 2.2, 2.2);
  }
  low = low.cwiseMax(whole.min_px);
  high = high.cwiseMin(whole.max_px);
  const Window window{low, high};
  return window.empty() ? whole : window;
}

std::optional<std::size_t> choose_near_disc(std::span<const DiscCandidate> candidates,
                                            const DiscHint& hint) {
  const RadiusPrior prior = radius_prior(hint);
  std::vector<double> scores(candidates.size(), 0);
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const Rim& rim = candidates[i].rim;
    double score = candidates[i].quality();
    const double radius = rim.ellipse.semi_major_px();
    if (prior.radius_px > 0) {
      const double off = std::log(radius / prior.radius_px) / prior.spread;
      if (std::abs(off) > kFarFromExpected) continue;
      score *= std::exp(-0.25 * off * off);
    }
    if (const auto distance = distance_to_hands(hint, rim.ellipse.center_px)) {
      const double off = *distance / radius;
      if (off > kReachOfHands) continue;
      score *= std::exp(-0.15 * off * off);
    }
    scores[i] = score;
  }
  const auto top = std::max_element(scores.begin(), scores.end());
  if (top == scores.end() || *top <= 0) return std::nullopt;
  auto best = static_cast<std::size_t>(top - scores.begin());
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const Ellipse& now = candidates[best].rim.ellipse;
    const Ellipse& other = candidates[i].rim.ellipse;
    const bool together = (now.center_px - other.center_px).norm() < 2.5 * now.semi_major_px();
    const double size = other.semi_major_px() / now.semi_major_px();
    // Near and far disc are 1.31 m apart (IWF TCRR): 1.13 at a distance of 10 m, 1.4 at 3.3 m.
    if (together && size > 1.1 && size < 1.5 && scores[i] > 0.5 * *top) best = i;
  }
  return best;
}

std::optional<std::size_t> choose_far_disc(std::span<const DiscCandidate> candidates,
                                           const DiscCandidate& near) {
  std::optional<std::size_t> best;
  const Ellipse& rim = near.rim.ellipse;
  for (std::size_t i = 0; i < candidates.size(); ++i) {
    const Ellipse& other = candidates[i].rim.ellipse;
    const double size = other.semi_major_px() / rim.semi_major_px();
    const double distance = (other.center_px - rim.center_px).norm() / rim.semi_major_px();
    // A concentric circle is a ring of the near disc itself.
    if (size < 0.6 || size > 0.97 || distance > 2.5 || distance < 0.04) continue;
    if (!best || candidates[i].rim.support > candidates[*best].rim.support) best = i;
  }
  return best;
}

DiscTracker::DiscTracker(const TrackerOptions& options) : options_(options) {}

void DiscTracker::reset() {
  *this = DiscTracker(options_);
}

std::optional<kinematics::DiscObservation> DiscTracker::track(const Image& image, double time_s,
                                                              const DiscHint& hint) {
  if (image.empty() || !std::isfinite(time_s)) return std::nullopt;
  if (state_ != TrackState::Searching) {
    const double gap = time_s - last_time_;
    if (gap < 0 || gap > std::max(options_.coast_time, 0.5)) state_ = TrackState::Searching;
  }
  if (state_ != TrackState::Searching) {
    const auto rim = follow(image, time_s);
    if (rim) {
      accept(*rim, time_s);
      frames_apart_ = hands_elsewhere(hint) ? frames_apart_ + 1 : 0;
      if (frames_apart_ < 6) return to_observation(*rim);
    } else {
      state_ = TrackState::Coasting;
      if (time_s - last_time_ <= options_.coast_time) return std::nullopt;
    }
    known_radius_px_ = shape_.mean_radius_px;
    state_ = TrackState::Searching;
    frames_to_search_ = 0;
  }
  if (frames_to_search_ > 0) {
    --frames_to_search_;
    return std::nullopt;
  }
  const auto found = search(image, time_s, hint);
  if (!found) frames_to_search_ = std::max(options_.search_interval_frames - 1, 0);
  return found;
}

std::optional<kinematics::DiscObservation> DiscTracker::search(const Image& image, double time_s,
                                                               const DiscHint& given) {
  DiscHint hint = given;
  if (known_radius_px_ > 0) {
    hint.expected_radius_px = known_radius_px_;
    hint.radius_spread = 0.05;
  }
  const RadiusPrior prior = radius_prior(hint);
  DiscSearch request;
  request.min_quality = options_.min_search_quality;
  if (prior.radius_px > 0) {
    request.min_radius_px = std::max(10.0, prior.radius_px * std::exp(-2.5 * prior.spread));
    request.max_radius_px = std::min(prior.radius_px * std::exp(2.5 * prior.spread),
                                     0.5 * std::max(image.width(), image.height()));
    if (request.max_radius_px < request.min_radius_px) return std::nullopt;
    request.window = search_window(hint, prior.radius_px, image.width(), image.height());
  }
  const auto candidates = find_discs(image, request);
  const auto best = choose_near_disc(candidates, hint);
  if (!best) {
    // A radius remembered from a lost track must not keep the disc out for ever.
    if (++failed_searches_ > kPatience) known_radius_px_ = 0;
    return std::nullopt;
  }
  const Rim& rim = candidates[*best].rim;
  failed_searches_ = 0;
  updates_ = 0;
  shape_updates_ = 0;
  velocity_px_.setZero();
  frames_apart_ = 0;
  accept(rim, time_s);
  return to_observation(rim);
}

std::optional<Rim> DiscTracker::follow(const Image& image, double time_s) {
  const double dt = time_s - last_time_;
  const double radius = shape_.mean_radius_px;
  const double px_per_metre = radius / options_.disc_radius;
  const Eigen::Vector2d predicted = last_.center_px + velocity_px_ * dt;
  // Half of the most that acceleration and an unsure velocity can add, and a floor for jitter.
  const double velocity_doubt = updates_ < 2 ? kStartSpeed : 0.3;
  const double gate =
      0.12 * radius + 2 + px_per_metre * (velocity_doubt * dt + 0.5 * kAcceleration * dt * dt);
  const Window window{predicted.array() - gate, predicted.array() + gate};
  const auto circles =
      vote_circles(image, window, radius * (1 - kRadiusBand), radius * (1 + kRadiusBand), 0.15, 3);
  RimOptions options;
  options.prior.mean = shape_;
  // Loose at first; a rim half out of the picture then leans on what the whole rim showed before.
  const double settled = std::min(shape_updates_, 10.0);
  options.prior.radius_spread_px = radius * (0.015 - 0.0009 * settled);
  options.prior.stretch_spread_px = radius * (0.015 - 0.0009 * settled);
  std::optional<Rim> best;
  const auto consider = [&](const Eigen::Vector2d& center, double window_share) {
    Ellipse start = shape_;
    start.center_px = center;
    options.window_share = window_share;
    const auto rim = refine_rim(image, start, options);
    if (rim && plausible(*rim, predicted, gate) && (!best || sharp(*rim) > sharp(*best)))
      best = rim;
  };
  for (const CoarseCircle& circle : circles) {
    consider(circle.center_px, 0.12);
    if (best && best->visible_support > 0.6) break;
  }
  if (!best && updates_ >= 3) consider(predicted, 0.12);
  return best;
}

bool DiscTracker::plausible(const Rim& rim, const Eigen::Vector2d& predicted,
                            double gate_px) const {
  const double needed = updates_ < 2 ? 0.4 : options_.min_track_support;
  if (std::max(rim.support, 0.6 * rim.visible_support) < needed) return false;
  const Ellipse& e = rim.ellipse;
  if ((e.center_px - predicted).norm() > 1.5 * gate_px) return false;
  if (std::abs(e.mean_radius_px / shape_.mean_radius_px - 1) > kRadiusJump) return false;
  const Eigen::Vector2d stretch(e.stretch_x_px - shape_.stretch_x_px,
                                e.stretch_xy_px - shape_.stretch_xy_px);
  return stretch.norm() < 0.08 * shape_.mean_radius_px;
}

void DiscTracker::accept(const Rim& rim, double time_s) {
  const Ellipse& e = rim.ellipse;
  if (state_ != TrackState::Searching) {
    const double dt = time_s - last_time_;
    if (dt > 1e-6) {
      const Eigen::Vector2d measured = (e.center_px - last_.center_px) / dt;
      velocity_px_ = updates_ < 2 ? measured : Eigen::Vector2d(0.2 * velocity_px_ + 0.8 * measured);
    }
  }
  // Running shape over about 20 frames; a poorly seen rim counts less.
  const double weight = rim.support > 0.6 ? 1.0 : 0.3;
  if (shape_updates_ <= 0) {
    shape_ = e;
    shape_updates_ = weight;
  } else {
    shape_updates_ = std::min(shape_updates_ + weight, 20.0);
    const double gain = weight / shape_updates_;
    shape_.mean_radius_px += gain * (e.mean_radius_px - shape_.mean_radius_px);
    shape_.stretch_x_px += gain * (e.stretch_x_px - shape_.stretch_x_px);
    shape_.stretch_xy_px += gain * (e.stretch_xy_px - shape_.stretch_xy_px);
  }
  last_ = e;
  last_time_ = time_s;
  ++updates_;
  state_ = TrackState::Following;
}

bool DiscTracker::hands_elsewhere(const DiscHint& hint) const {
  const auto distance = distance_to_hands(hint, last_.center_px);
  return distance && *distance > 1.4 * kReachOfHands * shape_.semi_major_px();
}

}  // namespace lintel::bar
