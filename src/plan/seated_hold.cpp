#include "plan/seated_hold.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "body/tables.h"
#include "plan/plan.h"
#include "plan/rules.h"
#include "reasoning/factors.h"

namespace lintel::plan {
namespace {

using posture::BodyParameters;
using posture::Limits;

struct Solved {
  posture::Posture posture;
  bool possible = true;
};

// Under the tested ranges; where they exclude each other, where the body would give first.
Result<Solved> solve_upright(const BodyParameters& body, const body::Setup& setup,
                             const Limits& limits) {
  const auto model = LINTEL_TRY(posture::Model::create(body, setup, limits));
  const posture::Solution plain = posture::solve_most_upright(model);
  if (plain.outcome == posture::Outcome::Solved) return Solved{plain.posture, true};
  const auto soft = LINTEL_TRY(posture::Model::create(body, setup, reasoning::elastic(limits)));
  return Solved{posture::solve_most_upright(soft).posture, false};
}

body::Setup with_pipe(body::Setup setup, const SeatedHoldOptions& options) {
  setup.bar_mass = options.bar_mass;
  setup.bar_position = body::BarPosition::Overhead;
  return setup;
}

body::Setup on_surface(const body::Setup& setup, double height, double share,
                       const SeatedHoldOptions& options) {
  body::Setup out = with_pipe(setup, options);
  out.surface_height = height;
  out.seat_share = share;
  return out;
}

double rounded_up(double height, double step) {
  return std::ceil(height / step - 1e-6) * step;
}

SurfaceRung rung_of(int week, const SeatedHold& hold) {
  SurfaceRung rung;
  rung.week = week;
  rung.surface_height = hold.surface_height;
  rung.depth = hold.depth;
  rung.trunk_inclination = hold.lifted_inclination;
  rung.on_surface = hold.on_surface;
  rung.on_feet = hold.on_feet;
  return rung;
}

struct Start {
  SeatedHold hold;
  bool acceptable = false;
};

// From full depth upwards.
Result<Start> find_start(const BodyParameters& body, const body::Setup& setup, const Limits& limits,
                         double lowest, const SeatedHoldOptions& options) {
  std::optional<SeatedHold> least;
  for (double height = lowest; height <= options.highest + 1e-9; height += options.step) {
    const SeatedHold hold = LINTEL_TRY(compute_seated_hold(body, setup, limits, height, options));
    if (hold.possible && hold.lifted_inclination <= options.acceptable_inclination) {
      return Start{hold, true};
    }
    const bool better = !least || (hold.possible && !least->possible) ||
                        (hold.possible == least->possible &&
                         hold.lifted_inclination < least->lifted_inclination - 1e-9);
    if (better) least = hold;
  }
  if (least) return Start{*least, false};
  return Start{LINTEL_TRY(compute_seated_hold(body, setup, limits, lowest, options)), false};
}

Result<void> add_ladder(const BodyParameters& body, const body::Setup& setup, const Limits& limits,
                        const SeatedHoldOptions& options, double lowest, SeatedHoldPlan& plan) {
  int working = 0;
  for (int week = 1; week <= options.weeks; ++week) working += is_deload_week(week) ? 0 : 1;
  const double top = plan.now.surface_height;
  int done = 0;
  double height = top;
  for (int week = 1; week <= options.weeks; ++week) {
    if (!is_deload_week(week)) {
      const double share = working > 1 ? static_cast<double>(done) / (working - 1) : 1.0;
      height = std::min(height, rounded_up(top - share * (top - lowest), options.step));
      ++done;
    }
    const SeatedHold hold = LINTEL_TRY(compute_seated_hold(body, setup, limits, height, options));
    plan.ladder.push_back(rung_of(week, hold));
  }
  return {};
}

}  // namespace

SeatedHoldOptions default_seated_hold_options() {
  const body::NumberTable& table = plan_rules();
  SeatedHoldOptions options;
  options.seat_share = table.value("seated.share");
  options.rise = table.value("seated.rise");
  options.bar_mass = table.value("seated.pipe_mass");
  options.acceptable_inclination = table.value("seated.acceptable_inclination");
  options.step = table.value("seated.height_step");
  options.highest = table.value("seated.highest");
  return options;
}

Result<SeatedHold> compute_seated_hold(const BodyParameters& body, const body::Setup& setup,
                                       const Limits& limits, double surface_height,
                                       const SeatedHoldOptions& options) {
  const auto loaded = LINTEL_TRY(
      solve_upright(body, on_surface(setup, surface_height, options.seat_share, options), limits));
  const auto lifted = LINTEL_TRY(
      solve_upright(body, on_surface(setup, surface_height + options.rise, 0.0, options), limits));
  SeatedHold out;
  out.surface_height = surface_height;
  out.depth = loaded.posture.depth;
  out.trunk_inclination = loaded.posture.trunk_inclination;
  out.possible = loaded.possible && lifted.possible;
  out.total_weight = (loaded.posture.ground_force + loaded.posture.seat_force) / kGravity;
  out.lifted_inclination = lifted.posture.trunk_inclination + options.habit;
  out.on_surface = loaded.posture.seat_force / kGravity;
  out.on_feet = loaded.posture.ground_force / kGravity;
  out.moments = loaded.posture.moments;
  out.lifted = lifted.posture.moments;
  return out;
}

Result<SeatedHoldPlan> plan_seated_hold(const BodyParameters& body, const body::Setup& setup,
                                        const Limits& limits, const SeatedHoldOptions& options) {
  SeatedHoldPlan plan;
  plan.seat_share = options.seat_share;
  plan.rise = options.rise;
  plan.acceptable_inclination = options.acceptable_inclination;
  body::Setup free = with_pipe(setup, options);
  free.surface_height.reset();
  free.seat_share = 0.0;
  const auto deep = LINTEL_TRY(solve_upright(body, free, limits));
  const body::Number& allowed = body::range_table()["surface_height"];
  plan.full_depth_height =
      std::clamp(deep.posture.hip_height - body::limit_table().value("seat.hip_above_surface"),
                 allowed.low, std::min(allowed.high, options.highest));
  const double lowest = rounded_up(plan.full_depth_height, options.step);
  const Start start = LINTEL_TRY(find_start(body, setup, limits, lowest, options));
  plan.now = start.hold;
  plan.starts_at_full_depth = plan.now.surface_height <= lowest + 1e-9;
  LINTEL_TRY_VOID(add_ladder(body, setup, limits, options, lowest, plan));
  if (!start.acceptable) {
    plan.notes.push_back(text(
        "No height up to %.0f cm keeps the trunk within %.0f degrees with the ranges of today: "
        "start at the least inclined and work on the ranges first.",
        options.highest * 100.0, options.acceptable_inclination * kDegreesPerRadian));
  }
  if (plan.starts_at_full_depth) {
    plan.notes.push_back(
        "The height of full depth can be used now: take more weight off the surface over the weeks "
        "instead of lowering it.");
  }
  plan.notes.push_back(
      "Readings are of a scale that stands still: sway and a soft surface move them by some "
      "kilograms.");
  return plan;
}

}  // namespace lintel::plan
