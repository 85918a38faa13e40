#include "demo/motion.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/random.h"

namespace lintel::demo {

namespace {

constexpr int kWaves = 3;  // sinusoids per sway channel

double lerp(double a, double b, double s) {
  return a + (b - a) * s;
}

// Minimum-jerk ease from 0 to 1 (Flash & Hogan 1985).
double ease(double x) {
  x = std::clamp(x, 0.0, 1.0);
  return x * x * x * (10 + x * (-15 + 6 * x));
}

}  // namespace

Motion::Motion(const MotionSpec& spec, std::uint64_t seed) : spec_(spec) {
  Random random(seed, 0x307);
  double time = 0;
  knots_.push_back({time, 0});
  time += spec.lead_in;
  knots_.push_back({time, 0});
  const int count = spec.movement == Movement::Stand ? 0 : spec.repetitions;
  for (int i = 0; i < count; ++i) {
    const double deep = i == 0 ? 1.0 : 1.0 + 0.015 * std::clamp(random.normal(), -2.0, 2.0);
    const double pace = i == 0 ? 1.0 : 1.0 + 0.05 * std::clamp(random.normal(), -2.0, 2.0);
    RepetitionTruth rep;
    rep.start = time;
    rep.bottom_start = time + spec.descent * pace;
    rep.bottom_end = rep.bottom_start + spec.pause;
    rep.bottom = 0.5 * (rep.bottom_start + rep.bottom_end);
    knots_.push_back({rep.bottom_start, deep});
    knots_.push_back({rep.bottom_end, deep});
    time = rep.bottom_end;
    if (i == spec.failed_repetition) {
      // Rises less than half-way, sticks, sinks back and stays down.
      rep.outcome = Outcome::Failed;
      knots_.push_back({time + 0.9, 0.66 * deep});
      knots_.push_back({time + 1.4, 0.67 * deep});
      knots_.push_back({time + 2.3, deep});
      time += 2.8;
      knots_.push_back({time, deep});
      rep.end = time;
      repetitions_.push_back(rep);
      break;
    }
    time += spec.ascent * pace;
    knots_.push_back({time, 0});
    rep.end = time;
    repetitions_.push_back(rep);
    time += spec.rest;
    knots_.push_back({time, 0});
  }
  for (int i = 0; i < 5 * kWaves; ++i) phases_.push_back(random.uniform(0, 2 * std::numbers::pi));
}

double Motion::depth(double time) const {
  for (std::size_t i = 1; i < knots_.size(); ++i) {
    if (time < knots_[i].time) {
      const Knot& a = knots_[i - 1];
      const Knot& b = knots_[i];
      return lerp(a.depth, b.depth, ease((time - a.time) / (b.time - a.time)));
    }
  }
  return knots_.back().depth;
}

double Motion::give_way(double time) const {
  // The shoulders hold at first and give in the deeper half.
  return spec_.give_way * ease((depth(time) - 0.45) / 0.5);
}

double Motion::wobble(double time, int channel) const {
  static constexpr double kRates_hz[kWaves] = {0.23, 0.47, 0.91};
  static constexpr double kSizes[kWaves] = {0.5, 0.3, 0.2};
  double sum = 0;
  for (int i = 0; i < kWaves; ++i) {
    const double phase = phases_[static_cast<std::size_t>(channel * kWaves + i)];
    sum += kSizes[i] * std::sin(2 * std::numbers::pi * kRates_hz[i] * time + phase);
  }
  return spec_.sway * sum;
}

Result<Skeleton> Motion::skeleton(const Lifter& lifter, const Setup& setup, double time) const {
  const double s = depth(time);
  // The knees travel a little ahead of the hips on the way.
  const double s_shank = s + spec_.knee_lead * s * (1 - s);
  PostureInput in;
  in.shank_tilt = lerp(spec_.shank_top, spec_.shank_bottom, s_shank) + 0.006 * wobble(time, 0);
  in.knee_in = spec_.knee_in * ease((s - 0.3) / 0.7);
  in.foot_inclination = spec_.heel_lift * ease((s - 0.35) / 0.6);
  const double middle = mid_foot_x(lifter.lengths, setup);
  in.bar_x =
      middle + spec_.bar_offset + spec_.bar_drift * s + give_way(time) + 0.006 * wobble(time, 1);
  const double target =
      middle + lerp(spec_.balance_top, spec_.balance_bottom, s) + 0.005 * wobble(time, 2);
  if (spec_.movement == Movement::ForwardBend) {
    in.trunk_inclination = lerp(0.05, spec_.trunk_bottom, s);
    return build_balanced(lifter, setup, in, target, Balance::ByThigh);
  }
  in.thigh_inclination = lerp(spec_.thigh_top, spec_.thigh_bottom, s) + 0.006 * wobble(time, 3);
  return build_balanced(lifter, setup, in, target, Balance::ByTrunk);
}

}  // namespace lintel::demo
