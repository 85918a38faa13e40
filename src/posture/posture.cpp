#include "posture/posture.h"

#include <algorithm>
#include <cmath>
#include <string>

#include "body/anthropometry.h"
#include "body/tables.h"
#include "posture/problem.h"
#include "posture/solver.h"

namespace lintel::posture {

const SkeletonNumbers& skeleton_numbers() {
  static const SkeletonNumbers kNumbers = [] {
    const body::NumberTable& t = body::limit_table();
    return SkeletonNumbers{body::segment_length_table().value("ball_lever.of_foot"),
                           t.value("grip.hand_half_breadth"),
                           t.value("head.follows_thorax"),
                           t.value("seat.hip_above_surface"),
                           t.value("bar.back.behind_shoulder"),
                           t.value("bar.back.above_shoulder"),
                           t.value("bar.front.ahead_of_shoulder"),
                           t.value("bar.front.above_shoulder")};
  }();
  return kNumbers;
}

const ObjectiveNumbers& objective_numbers() {
  static const ObjectiveNumbers kNumbers = [] {
    const body::NumberTable& t = body::limit_table();
    return ObjectiveNumbers{
        t.value("edge.distance.radians_per_metre"), t.value("effort.spine_weight"),
        t.value("effort.knee_line_weight"),         t.value("lumbar_flexion.reference"),
        t.value("thoracic_extension.reference"),    t.value("knee_line.outward")};
  }();
  return kNumbers;
}

std::string_view outcome_name(Outcome outcome) {
  static constexpr std::array<std::string_view, 3> kNames = {"solved", "infeasible",
                                                             "iteration_limit"};
  return kNames[static_cast<std::size_t>(outcome)];
}

std::string_view lever_name(Lever lever) {
  static constexpr std::array<std::string_view, kLeverCount> kNames = {
      "stance_width",   "toe_out",    "heel_elevation",           "grip_width", "bar_mass", "depth",
      "surface_height", "seat_share", "center_of_pressure_target"};
  return kNames[static_cast<std::size_t>(lever)];
}

BodyParameters make_body_parameters(body::Sex sex, double stature, double body_mass,
                                    const body::SegmentLengths& lengths) {
  BodyParameters b;
  b.sex = sex;
  b.stature = stature;
  b.body_mass = body_mass;
  b.lengths = lengths;
  // Read once for each sex: the draws of a Monte Carlo come through here.
  static const auto kTables = [] {
    std::array<std::pair<std::array<body::PartParameters, body::kPartCount>, body::TrunkDivision>,
               2>
        tables;
    for (const auto s : {body::Sex::Female, body::Sex::Male}) {
      auto& entry = tables[static_cast<std::size_t>(s)];
      for (int i = 0; i < body::kPartCount; ++i) {
        entry.first[static_cast<std::size_t>(i)] =
            body::part_parameters(s, static_cast<body::Part>(i));
      }
      entry.second = body::trunk_division(s);
    }
    return tables;
  }();
  b.parts = kTables[static_cast<std::size_t>(sex)].first;
  b.trunk = kTables[static_cast<std::size_t>(sex)].second;
  b.capacities = default_capacities(sex, body_mass);
  return b;
}

Result<BodyParameters> body_parameters(const body::Athlete& athlete) {
  LINTEL_TRY_VOID(body::validate(athlete));
  const body::SegmentLengths lengths =
      LINTEL_TRY(body::estimate_segments(athlete.sex, athlete.stature, athlete.measured_lengths));
  return make_body_parameters(athlete.sex, athlete.stature, athlete.body_mass, lengths);
}

Result<Model> Model::create(const BodyParameters& body, const body::Setup& setup,
                            const Limits& limits) {
  auto faults = body::find_faults(setup, body.lengths[body::Segment::InterShoulder].value);
  if (!faults.empty()) return fail(std::move(faults.front()));
  const auto bad = [](std::string field, std::string message) {
    Error error{
        ErrorCode::Invalid, std::move(message), {}, "measure again or correct the entry", {}};
    error.place.field = std::move(field);
    return fail(std::move(error));
  };
  for (int i = 0; i < body::kSegmentCount; ++i) {
    const auto segment = static_cast<body::Segment>(i);
    const double length = body.lengths[segment].value;
    if (!std::isfinite(length) || length <= 0.0) {
      return bad("lengths." + std::string(body::segment_name(segment)),
                 "a length must be more than 0 m");
    }
  }
  if (!std::isfinite(body.body_mass) || body.body_mass <= 0.0) {
    return bad("athlete.body_mass", "a mass must be more than 0 kg");
  }
  for (int i = 0; i < kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    const Edge& e = limits[limit];
    if (std::isnan(e.edge) || e.edge < (is_length(limit) ? -0.5 : -std::numbers::pi) ||
        !(e.soft_width >= 0.0) || !(e.hard_margin >= 0.0)) {
      return bad("limits." + std::string(limit_name(limit)),
                 "an edge must be a number, with a soft width and a margin of 0 or more");
    }
    if (std::isfinite(e.edge) && !is_length(limit) && e.edge > 2.0 * std::numbers::pi) {
      return bad("limits." + std::string(limit_name(limit)),
                 "an angle of more than 360 degrees is no joint's range");
    }
  }
  const double arm = body.lengths[body::Segment::UpperArm].value +
                     body.lengths[body::Segment::Forearm].value +
                     body.lengths[body::Segment::Grip].value;
  const double aside = 0.5 * (setup.grip_width - body.lengths[body::Segment::InterShoulder].value) +
                       skeleton_numbers().hand_half_breadth;
  if (setup.bar_position == body::BarPosition::Overhead && aside > 0.95 * arm) {
    const double widest = 2.0 * (0.95 * arm - skeleton_numbers().hand_half_breadth) +
                          body.lengths[body::Segment::InterShoulder].value;
    return bad("setup.grip_width",
               "these arms do not reach; allowed is up to " + std::to_string(widest) + " m");
  }
  const double lever =
      skeleton_numbers().ball_lever_of_foot * body.lengths[body::Segment::Foot].value;
  if (setup.heel_elevation > 0.6 * lever) {
    return bad("setup.heel_elevation",
               "too high for this foot; allowed is up to " + std::to_string(0.6 * lever) + " m");
  }
  Model model;
  model.body_ = body;
  model.setup_ = setup;
  model.limits_ = limits;
  return model;
}

ObjectiveWeights most_upright_weights() {
  static const double kEffort = body::limit_table().value("upright.effort_weight");
  return {.trunk_inclination = 1.0,
          .effort = kEffort,
          .thigh_drop = 0.0,
          .edges = 1.0,
          .spine = kEffort};
}

ObjectiveWeights habitual_weights() {
  return {.trunk_inclination = 0.0, .effort = 1.0, .thigh_drop = 0.0, .edges = 1.0, .spine = 1.0};
}

ObjectiveWeights deepest_weights() {
  static const double kEffort = body::limit_table().value("upright.effort_weight");
  return {.trunk_inclination = 0.0,
          .effort = kEffort,
          .thigh_drop = 10.0,
          .edges = 1.0,
          .spine = kEffort};
}

Solution solve(const Model& model, const ObjectiveWeights& weights, const Options& options,
               const WarmStart* warm) {
  const Problem<double> problem = make_problem(model, weights, make_inputs<double>(model));
  const SolverResult result = solve_problem(problem, options, warm);
  Solution s;
  s.outcome = result.outcome;
  s.weights = weights;
  s.kkt_residual = result.kkt_residual;
  s.iterations = result.iterations;
  s.frozen = problem.frozen;
  s.warm_start = {result.x, result.multipliers};
  s.objective = result.objective;
  const bool infeasible = result.outcome == Outcome::Infeasible;
  for (std::size_t i = 0; i < kLimitCount; ++i) {
    s.reserve[i] = std::numeric_limits<double>::infinity();
    if (!problem.active[i]) continue;
    s.reserve[i] = -result.constraint[i] / problem.scale[i] - problem.hard_margin[i];
    s.resistance[i] = result.resistance[i];
    s.multipliers[i] = result.multipliers[i];
    if (infeasible) {
      s.violation[i] = std::max(0.0, result.constraint[i]) / problem.scale[i];
      s.conflict[i] = result.constraint[i] > 1e-3 * result.violation;
    }
  }
  s.posture = evaluate_posture(model, result.x);
  return s;
}

Solution solve_most_upright(const Model& model, const Options& options, const WarmStart* warm) {
  return solve(model, most_upright_weights(), options, warm);
}

Solution solve_habitual(const Model& model, const Options& options, const WarmStart* warm) {
  return solve(model, habitual_weights(), options, warm);
}

Solution solve_deepest(const Model& model, const Options& options, const WarmStart* warm) {
  return solve(model, deepest_weights(), options, warm);
}

}  // namespace lintel::posture
