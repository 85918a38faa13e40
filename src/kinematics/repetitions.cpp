#include "kinematics/repetitions.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>

#include <Eigen/Cholesky>

#include "kinematics/butterworth.h"

namespace lintel::kinematics {
namespace {

constexpr std::size_t kFewestFrames = 5;
// Speeds (for start, end and pauses) come from a smoother curve than positions: at 4 Hz one
// centimetre of jitter leaves 5 cm/s, as much as a pause may have; at 2 Hz it leaves 2 cm/s.
constexpr double kSpeedSmoothingHz = 2.0;
constexpr double kStandingPercentile = 0.95;
// A descent has begun once the hips are this share of the drop below standing; its start is where
// the speed before that was still under kStartSpeedShare of the fastest, at most kStartReach
// earlier [s]. The same for the end. (Common practice in event detection, no source.)
constexpr double kBegunShare = 0.05;
constexpr double kStartSpeedShare = 0.10;
constexpr double kStartReach = 0.8;
constexpr double kReferenceWindow = 1.5;  // [s] before and after, in which the standing level is
// The parabola at the bottom: frames this near to the lowest [s], and up to kBottomFitMost as long
// as they are this share of the drop above it; slow squats so get the longer fit.
constexpr double kBottomFitReach = 0.10;
constexpr double kBottomFitMost = 0.30;
constexpr double kBottomFitShare = 0.05;
// The bar is lost when its height above the hips falls under this share of what it was at the
// start: on the hips or below. On the back it stays above 0.6 in a deep squat.
constexpr double kBarLostShare = 0.25;
constexpr std::size_t kBarLostFrames = 3;

struct Smoothed {
  std::span<const double> time;
  std::vector<double> height;
  std::vector<double> speed;  // upward positive
};

struct Range {  // frames, both inclusive
  std::size_t first = 0;
  std::size_t last = 0;
};

std::vector<Range> known_ranges(const std::vector<double>& x) {
  std::vector<Range> ranges;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (!std::isfinite(x[i])) continue;
    if (i == 0 || !std::isfinite(x[i - 1])) ranges.push_back({i, i});
    ranges.back().last = i;
  }
  std::erase_if(ranges, [](const Range& r) { return r.last - r.first + 1 < kFewestFrames; });
  return ranges;
}

double percentile(std::vector<double> x, double share) {
  std::erase_if(x, [](double v) { return !std::isfinite(v); });
  if (x.empty()) return 0;
  const auto at = static_cast<std::ptrdiff_t>(share * static_cast<double>(x.size() - 1));
  std::nth_element(x.begin(), x.begin() + at, x.end());
  return x[static_cast<std::size_t>(at)];
}

std::size_t lowest_in(const std::vector<double>& x, Range r) {
  const auto begin = x.begin() + static_cast<std::ptrdiff_t>(r.first);
  return static_cast<std::size_t>(
      std::min_element(begin, x.begin() + static_cast<std::ptrdiff_t>(r.last) + 1) - x.begin());
}
std::size_t highest_in(const std::vector<double>& x, Range r) {
  const auto begin = x.begin() + static_cast<std::ptrdiff_t>(r.first);
  return static_cast<std::size_t>(
      std::max_element(begin, x.begin() + static_cast<std::ptrdiff_t>(r.last) + 1) - x.begin());
}

// Stretches of deep hips; neighbours without standing between them are one.
std::vector<Range> deep_ranges(const Smoothed& s, Range whole, double standing,
                               const RepetitionOptions& options) {
  const double deep = standing * (1.0 - options.least_drop);
  std::vector<Range> ranges;
  for (std::size_t i = whole.first; i <= whole.last; ++i) {
    if (s.height[i] >= deep) continue;
    if (!ranges.empty() && ranges.back().last + 1 == i) {
      ranges.back().last = i;
      continue;
    }
    if (!ranges.empty()) {
      Range& before = ranges.back();
      const double top = s.height[highest_in(s.height, {before.last, i})];
      const double low = s.height[lowest_in(s.height, before)];
      if (top < standing - (1.0 - options.standing_share) * (standing - low)) {
        before.last = i;
        continue;
      }
    }
    ranges.push_back({i, i});
  }
  return ranges;
}

// Time of the vertex of the least-squares parabola through frames, from the time of `origin`.
double vertex_time(const Smoothed& s, Range window, std::size_t origin) {
  Eigen::Matrix3d normal = Eigen::Matrix3d::Zero();
  Eigen::Vector3d right = Eigen::Vector3d::Zero();
  for (std::size_t i = window.first; i <= window.last; ++i) {
    const double t = s.time[i] - s.time[origin];
    const Eigen::Vector3d row(1.0, t, t * t);
    normal += row * row.transpose();
    right += row * s.height[i];
  }
  const Eigen::Vector3d c = normal.ldlt().solve(right);
  return c[2] > 0 ? s.time[origin] - 0.5 * c[1] / c[2] : s.time[origin];
}

// Frame of the bottom and its time between frames: vertex of the parabola through the frames near
// the lowest one, as many as lie within kBottomFitShare of the drop.
void locate_bottom(const Smoothed& s, Range r, double drop, RepetitionEvents& events) {
  const std::size_t lowest = lowest_in(s.height, r);
  events.lowest_hip_height = s.height[lowest];
  const double level = s.height[lowest] + kBottomFitShare * drop;
  const auto belongs = [&](std::size_t i) {
    const double apart = std::abs(s.time[i] - s.time[lowest]);
    return apart <= kBottomFitReach || (apart <= kBottomFitMost && s.height[i] <= level);
  };
  Range window{lowest, lowest};
  while (window.first > r.first && belongs(window.first - 1)) --window.first;
  while (window.last < r.last && belongs(window.last + 1)) ++window.last;
  events.bottom_time = s.time[lowest];
  if (window.last - window.first >= 3) {
    events.bottom_time =
        std::clamp(vertex_time(s, window, lowest), s.time[window.first], s.time[window.last]);
  }
  events.bottom_frame = lowest;
  for (std::size_t i = window.first; i <= window.last; ++i) {
    if (std::abs(s.time[i] - events.bottom_time) <
        std::abs(s.time[events.bottom_frame] - events.bottom_time)) {
      events.bottom_frame = i;
    }
  }
}

// First frame of the descent. bounds.first is the earliest frame allowed.
std::size_t locate_start(const Smoothed& s, Range bounds, std::size_t bottom, double level,
                         double drop) {
  std::size_t i = bottom;
  while (i > bounds.first && s.height[i] < level - kBegunShare * drop) --i;
  double fastest = 0;
  for (std::size_t k = i; k <= bottom; ++k) fastest = std::max(fastest, -s.speed[k]);
  const double begun = s.time[i];
  while (i > bounds.first && begun - s.time[i - 1] <= kStartReach &&
         -s.speed[i] > kStartSpeedShare * fastest) {
    --i;
  }
  return i;
}

std::size_t locate_end(const Smoothed& s, Range bounds, std::size_t bottom, double level,
                       double drop) {
  std::size_t i = bottom;
  while (i < bounds.last && s.height[i] < level - kBegunShare * drop) ++i;
  double fastest = 0;
  for (std::size_t k = bottom; k <= i; ++k) fastest = std::max(fastest, s.speed[k]);
  const double done = s.time[i];
  while (i < bounds.last && s.time[i + 1] - done <= kStartReach &&
         s.speed[i] > kStartSpeedShare * fastest) {
    ++i;
  }
  return i;
}

// Highest of the smoothed curve within kReferenceWindow of a frame, inside the bounds.
double level_near(const Smoothed& s, Range bounds, std::size_t frame, bool before) {
  Range window{frame, frame};
  if (before) {
    while (window.first > bounds.first &&
           s.time[frame] - s.time[window.first - 1] <= kReferenceWindow)
      --window.first;
  } else {
    while (window.last < bounds.last && s.time[window.last + 1] - s.time[frame] <= kReferenceWindow)
      ++window.last;
  }
  return s.height[highest_in(s.height, window)];
}

// The frame in which a rise from the bottom turned into sinking again without standing, if any.
std::optional<std::size_t> failed_attempt(const Smoothed& s, Range after_bottom, double drop,
                                          double standing_level, const RepetitionOptions& options) {
  double low = s.height[after_bottom.first];
  std::size_t top = after_bottom.first;
  for (std::size_t i = after_bottom.first; i <= after_bottom.last; ++i) {
    const double h = s.height[i];
    if (h >= standing_level) return std::nullopt;
    if (h > s.height[top]) top = i;
    const double risen = s.height[top] - low;
    if (risen >= options.attempt_share * drop &&
        s.height[top] - h >= 0.5 * options.attempt_share * drop) {
      return top;
    }
    if (h < low) {
      low = h;
      top = i;
    }
  }
  return std::nullopt;
}

std::optional<std::size_t> bar_lost(const RepetitionCurves& curves, const Smoothed& s, Range r) {
  if (curves.bar_height.empty()) return std::nullopt;
  std::optional<double> start_gap;
  std::size_t run = 0;
  for (std::size_t i = r.first; i <= r.last; ++i) {
    if (!std::isfinite(curves.bar_height[i])) continue;
    const double gap = curves.bar_height[i] - s.height[i];
    if (!start_gap) {
      if (gap <= 0) return std::nullopt;  // not a bar above the hips to begin with
      start_gap = gap;
    }
    run = gap < kBarLostShare * *start_gap ? run + 1 : 0;
    if (run == kBarLostFrames) return i;
  }
  return std::nullopt;
}

bool knees_bend(const RepetitionCurves& curves, const RepetitionEvents& events, Range deep,
                double least) {
  if (curves.knee_flexion.empty()) return true;
  std::vector<double> near;
  for (std::size_t i = deep.first; i <= deep.last; ++i) {
    const double knee = curves.knee_flexion[i];
    if (std::isfinite(knee) && std::abs(curves.time[i] - events.bottom_time) <= 2 * kBottomFitReach)
      near.push_back(knee);
  }
  if (near.empty()) {
    for (std::size_t i = deep.first; i <= deep.last; ++i) {
      if (std::isfinite(curves.knee_flexion[i])) near.push_back(curves.knee_flexion[i]);
    }
  }
  return near.empty() || percentile(near, 0.5) >= least;
}

// Time at which the height passes a level between frames i and i + 1.
double passing_time(const Smoothed& s, std::size_t i, double level) {
  const double step = s.height[i + 1] - s.height[i];
  const double u = step != 0 ? std::clamp((level - s.height[i]) / step, 0.0, 1.0) : 0.0;
  return s.time[i] + u * (s.time[i + 1] - s.time[i]);
}

void measure_durations(const Smoothed& s, double band, RepetitionEvents& events) {
  const double level = events.lowest_hip_height + band;
  std::size_t i = events.bottom_frame;
  while (i > events.start_frame && s.height[i - 1] <= level) --i;
  const double enters = i > events.start_frame ? passing_time(s, i - 1, level) : s.time[i];
  i = events.bottom_frame;
  while (i < events.end_frame && s.height[i + 1] <= level) ++i;
  const double leaves = i < events.end_frame ? passing_time(s, i, level) : s.time[i];
  events.descent_duration = enters - s.time[events.start_frame];
  events.bottom_duration = leaves - enters;
  events.ascent_duration = s.time[events.end_frame] - leaves;
}

void find_pauses(const Smoothed& s, double speed, double least, double near_standing,
                 RepetitionEvents& events) {
  std::size_t i = events.start_frame;
  while (i <= events.end_frame) {
    const auto still = [&](std::size_t k) {
      return std::abs(s.speed[k]) < speed && s.height[k] < near_standing;
    };
    if (!still(i)) {
      ++i;
      continue;
    }
    const std::size_t first = i;
    while (i + 1 <= events.end_frame && still(i + 1)) ++i;
    const double duration = s.time[i] - s.time[first];
    if (duration >= least) events.pauses.push_back({s.time[first], duration});
    ++i;
  }
}

// One deep stretch of a clip part into a repetition; nothing if it is a bend.
std::optional<RepetitionEvents> repetition_of(const RepetitionCurves& curves, const Smoothed& s,
                                              Range part, Range bounds, Range deep, double standing,
                                              const RepetitionOptions& options) {
  RepetitionEvents events;
  const double drop_all = standing - s.height[lowest_in(s.height, deep)];
  const double stands = standing - (1.0 - options.standing_share) * drop_all;
  const double level_before = level_near(s, bounds, deep.first, true);
  const double level_after = level_near(s, bounds, deep.last, false);
  const bool began = level_before >= stands;
  const bool stood = level_after >= stands;

  const auto attempt = failed_attempt(s, {deep.first, bounds.last}, drop_all, stands, options);
  const Range bottom_in{deep.first, attempt ? std::min(*attempt, deep.last) : deep.last};
  const double drop = std::max(level_before, stands) - s.height[lowest_in(s.height, bottom_in)];
  locate_bottom(s, bottom_in, drop, events);
  if (!knees_bend(curves, events, bottom_in, options.least_knee_flexion)) return std::nullopt;

  events.standing_hip_height = began ? level_before : standing;
  events.start_frame =
      began ? locate_start(s, bounds, events.bottom_frame, level_before, drop) : bounds.first;
  events.end_frame =
      stood ? locate_end(s, bounds, events.bottom_frame, level_after, drop) : bounds.last;
  const auto lost = bar_lost(curves, s, {events.start_frame, events.end_frame});
  const bool given_up = !stood && s.time[part.last] - events.bottom_time >= options.given_up_after;
  if (attempt || lost || (began && given_up)) {
    events.outcome = RepetitionOutcome::Failed;
    if (attempt) events.end_frame = *attempt;
    if (lost) events.end_frame = std::max(events.bottom_frame, *lost);
  } else if (!began || !stood) {
    events.outcome = RepetitionOutcome::CutOff;
  }
  measure_durations(s, options.bottom_band * standing, events);
  find_pauses(s, options.pause_speed * standing, options.least_pause,
              events.standing_hip_height - 2.0 * kBegunShare * drop, events);
  return events;
}

Result<Smoothed> smooth(const RepetitionCurves& curves, const RepetitionOptions& options) {
  Smoothed s;
  s.time = curves.time;
  CurveFilterOptions filter;
  filter.longest_gap = options.longest_gap;
  filter.cutoff_hz = options.smoothing_hz;
  s.height = LINTEL_TRY(filter_curve(curves.time, curves.hip_height, filter)).value;
  filter.cutoff_hz = std::min(kSpeedSmoothingHz, options.smoothing_hz);
  s.speed = derivative(curves.time,
                       LINTEL_TRY(filter_curve(curves.time, curves.hip_height, filter)).value);
  return s;
}

}  // namespace

Result<std::vector<RepetitionEvents>> find_repetitions(const RepetitionCurves& curves,
                                                       const RepetitionOptions& options) {
  const std::size_t n = curves.time.size();
  LINTEL_TRY_VOID(check_time(curves.time, curves.hip_height.size(), "hip_height"));
  if (!curves.knee_flexion.empty()) {
    LINTEL_TRY_VOID(check_time(curves.time, curves.knee_flexion.size(), "knee_flexion"));
  }
  if (!curves.bar_height.empty()) {
    LINTEL_TRY_VOID(check_time(curves.time, curves.bar_height.size(), "bar_height"));
  }
  std::vector<RepetitionEvents> repetitions;
  if (n < kFewestFrames) return repetitions;
  const Smoothed s = LINTEL_TRY(smooth(curves, options));
  const double standing = options.standing_hip_height > 0
                              ? options.standing_hip_height
                              : percentile(s.height, kStandingPercentile);
  if (!(standing > 0)) return repetitions;
  for (const Range& part : known_ranges(s.height)) {
    const std::vector<Range> deep = deep_ranges(s, part, standing, options);
    for (std::size_t i = 0; i < deep.size(); ++i) {
      // The highest frame between two squats belongs to both: the end of one, the start of next.
      Range bounds = part;
      if (i > 0) bounds.first = deep[i - 1].last;
      if (i + 1 < deep.size()) bounds.last = deep[i + 1].first;
      if (auto found = repetition_of(curves, s, part, bounds, deep[i], standing, options)) {
        repetitions.push_back(std::move(*found));
      }
    }
  }
  return repetitions;
}

}  // namespace lintel::kinematics
