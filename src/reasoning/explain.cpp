#include "reasoning/explain.h"

#include <algorithm>
#include <cmath>

#include "body/tables.h"
#include "reasoning/defaults.h"
#include "reasoning/what_if_errors.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using posture::Limit;

struct TestOfLimit {
  Limit limit;
  MobilityTest test;
};
// The test to ask for where a limit is a default.
constexpr std::array<TestOfLimit, 9> kTests = {{
    {Limit::AnkleDorsiflexion, MobilityTest::KneeToWall},
    {Limit::HipFlexion, MobilityTest::HipFlexion},
    {Limit::HipAbduction, MobilityTest::HipAbduction},
    {Limit::HipExternalRotation, MobilityTest::HipExternalRotation},
    {Limit::LumbarFlexion, MobilityTest::LumbarFlexion},
    {Limit::ThoracicExtension, MobilityTest::ThoracicRotation},
    {Limit::ShoulderElevation, MobilityTest::ArmToWallTurnedIn},
    {Limit::LatissimusLength, MobilityTest::ArmToWallTurnedOut},
    {Limit::KneeFlexion, MobilityTest::KneeFlexion},
}};

Error out_of_range(std::string field, std::string range) {
  Error error{ErrorCode::Invalid,
              "allowed is " + std::move(range),
              {},
              "measure again or leave it out",
              {}};
  error.place.field = std::move(field);
  return error;
}

Result<void> check(const std::optional<Estimate>& value, std::string_view name, double low,
                   double high, std::string_view range) {
  if (!value) return {};
  const std::string field = "observation." + std::string(name);
  if (!std::isfinite(value->value) || value->value < low || value->value > high) {
    return fail(out_of_range(field, std::string(range)));
  }
  if (!std::isfinite(value->standard_error) || value->standard_error < 0.0) {
    return fail(out_of_range(field + ".standard_error", "0 or more"));
  }
  return {};
}

std::vector<LimitState> binding_limits(const posture::Model& model,
                                       const posture::Solution& solution,
                                       const posture::AthleteLimits& limits) {
  std::vector<LimitState> out;
  const auto sensitivities = posture::compute_sensitivities(model, solution);
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    const auto limit = static_cast<Limit>(i);
    if (limit == Limit::ThighReach || !solution.binds(limit)) continue;
    LimitState state{limit, limits.source[i], limits.limits[limit].edge, solution.reserve[i], 0.0};
    if (sensitivities) state.sensitivity = sensitivities->trunk_inclination.by_limit[i];
    out.push_back(state);
  }
  std::stable_sort(out.begin(), out.end(), [](const LimitState& a, const LimitState& b) {
    return std::abs(a.sensitivity) > std::abs(b.sensitivity);
  });
  return out;
}

std::vector<MissingTest> missing_tests(const posture::AthleteLimits& limits,
                                       const Uncertainty& uncertainty, bool overhead) {
  std::vector<MissingTest> out;
  for (const TestOfLimit& entry : kTests) {
    const auto i = static_cast<std::size_t>(entry.limit);
    if (limits.source[i] != posture::LimitSource::Default) continue;
    const bool of_arm =
        entry.limit == Limit::ShoulderElevation || entry.limit == Limit::LatissimusLength;
    if (of_arm && !overhead) continue;
    out.push_back({entry.test, entry.limit, uncertainty.spread_by_limit[i]});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const MissingTest& a, const MissingTest& b) { return a.spread > b.spread; });
  return out;
}

int count_tests(const body::Athlete& athlete) {
  int count = 0;
  for (const auto& result : athlete.tests.results) count += result[0] || result[1] ? 1 : 0;
  return count;
}

std::vector<WhatIf*> rows_of(WhatIfTable& table) {
  std::vector<WhatIf*> rows;
  for (WhatIf& row : table.single) rows.push_back(&row);
  if (table.best_pair) rows.push_back(&*table.best_pair);
  if (table.best_triple) rows.push_back(&*table.best_triple);
  rows.push_back(&table.best_setup);
  return rows;
}

bool is_of_setup(const WhatIf& row) {
  return !row.changes.empty() &&
         std::all_of(row.changes.begin(), row.changes.end(),
                     [](const Change& c) { return c.lever <= Lever::Grip; });
}

// The postures of a drawing: seen, and after the best change of the setup.
Result<void> add_postures(ExplainResult& result, const posture::Limits& limits) {
  const auto at = [&](const body::Setup& setup, double lean) {
    return posture_at_lean(result.fitted_body, setup, limits, lean);
  };
  if (result.observed) result.seen = LINTEL_TRY(at(result.setup, result.observed->value));
  result.upright = LINTEL_TRY(at(result.setup, result.shares.most_upright));
  for (const WhatIf* row : rows_of(*result.what_if)) {
    if (!is_of_setup(*row) || row == &result.what_if->best_setup) continue;
    if (!result.best_change || row->trunk_change < result.best_change->trunk_change) {
      result.best_change = *row;
    }
  }
  static const double kLeast = default_table().value("what_if.least_gain");
  if (!result.best_change || result.best_change->trunk_change > -kLeast) {
    result.best_change.reset();
    return {};
  }
  const body::Setup changed = changed_setup(result.setup, result.best_change->changes);
  result.after_best = LINTEL_TRY(at(changed, result.best_change->trunk_inclination));
  return {};
}

// The shank as evidence, and how trunk and shank go together around the lean that was seen.
Result<void> add_shank(const Observation& observation, UncertainInput& input) {
  if (!observation.shank_inclination || !input.observed) return {};
  static const double kStep = default_table().value("shank.lean_step");
  const auto at = [&](double lean) {
    return posture_at_lean(input.body, input.today, input.limits.limits, lean);
  };
  const auto seen = LINTEL_TRY(at(input.observed->value));
  const auto upright = LINTEL_TRY(at(input.observed->value - kStep));
  if (!seen || !upright) return {};
  const double travel = upright->shank_inclination - seen->shank_inclination;
  if (travel < 0.1 * kStep) return {};
  input.observed_shank = observation.shank_inclination;
  input.lean_per_shank = (seen->trunk_inclination - upright->trunk_inclination) / travel;
  return {};
}

// Shares and postures of the fitted athlete.
Result<void> solve_fitted(ExplainResult& result, const UncertainInput& fitted) {
  result.fitted_body = fitted.body;
  result.fitted_limits = fitted.limits.limits;
  const CoalitionTable table = LINTEL_TRY(evaluate_all(mean_comparison(fitted)));
  result.solves = table.solves;
  std::optional<double> lean;
  if (result.observed) lean = result.observed->value;
  result.shares = compute_shares(table, lean);
  const posture::Model model =
      LINTEL_TRY(posture::Model::create(fitted.body, result.setup, elastic(fitted.limits.limits)));
  result.most_upright = posture::solve_most_upright(model, {}, &table.postures[kEverything].warm);
  result.habitual = posture::solve_habitual(model, {}, &result.most_upright.warm_start);
  result.limits = binding_limits(model, result.most_upright, fitted.limits);
  return {};
}

Result<void> add_extras(ExplainResult& result, const UncertainInput& input,
                        const UncertainInput& fitted, const Observation& observation,
                        const ExplainOptions& options, const WorkContext& work) {
  const posture::Limits& limits = fitted.limits.limits;
  const bool overhead = result.setup.bar_position == body::BarPosition::Overhead;
  if (overhead) {
    result.grip = LINTEL_TRY(advise_grip(result.body, result.setup, input.limits.limits));
    std::optional<double> lean;
    if (result.observed) lean = result.observed->value;
    result.shoulders = LINTEL_TRY(compute_shoulder_change(fitted.body, result.setup, limits, lean));
  }
  if (work.cancelled()) return fail(cancelled_error());
  work.report("changes", 0, 1);
  result.what_if = LINTEL_TRY(
      compute_what_if({fitted.body, result.setup, limits, result.allowed,
                       result.grip ? result.grip->hip_crease.value : result.setup.grip_width,
                       result.shares.most_upright}));
  LINTEL_TRY_VOID(add_errors(fitted, options.seed, *result.what_if));
  LINTEL_TRY_VOID(add_postures(result, limits));
  work.report("changes", 1, 1);
  result.sentences = describe_findings(result, observation);
  if (result.tests_done == 0) {
    result.cannot_tell =
        "Without mobility tests nobody can tell which range makes the trunk lean: the same lean "
        "comes from stiff ankles, from the setup and from habit.";
  }
  return {};
}

}  // namespace

std::string_view test_label(MobilityTest test) {
  static constexpr std::array<std::string_view, body::kMobilityTestCount> kLabels = {
      "Knee to wall, inclinometer",
      "Knee to wall, distance",
      "Knee flexion, deep squat on a post",
      "Hip flexion without pelvic tilt",
      "Hip external rotation, sitting",
      "Hip abduction, lying",
      "Low back at the bottom, two inclinometers",
      "Thoracic rotation, sitting on the heels",
      "Thoracic extension, two inclinometers",
      "Shoulder flexion, lying",
      "Arms to the wall, palms forward",
      "Arms to the wall, palms back",
      "Hip internal rotation, sitting"};
  return kLabels[static_cast<std::size_t>(test)];
}

Result<void> validate(const Observation& o) {
  const double degree = kRadiansPerDegree;
  LINTEL_TRY_VOID(check(o.trunk_inclination, "trunk_inclination", -30 * degree, 100 * degree,
                        "-30 to 100 deg from vertical"));
  LINTEL_TRY_VOID(check(o.shank_inclination, "shank_inclination", -30 * degree, 80 * degree,
                        "-30 to 80 deg from vertical"));
  LINTEL_TRY_VOID(check(o.depth, "depth", body::range_table()["depth"].low,
                        body::range_table()["depth"].high, "-60 to 30 cm"));
  return check(o.shoulder_change_given, "shoulder_change_given", -120 * degree, 120 * degree,
               "-120 to 120 deg");
}

Result<void> add_errors(const UncertainInput& input, std::uint64_t seed, WhatIfTable& table) {
  UncertainInput unseen = input;  // the rows start from the most upright posture
  unseen.observed.reset();
  const WhatIfDraws draws = LINTEL_TRY(WhatIfDraws::create(unseen, seed, TodayIs::EqualStrain));
  table.trunk_inclination_error = draws.errors_of({}).today;
  for (WhatIf* row : rows_of(table)) {
    const WhatIfErrors errors = draws.errors_of(row->changes);
    row->trunk_change_error = errors.change;
    row->trunk_inclination_error = errors.after;
  }
  return {};
}

Result<ExplainResult> explain(const body::Athlete& athlete, const Observation& observation,
                              const ExplainOptions& options, Executor& executor,
                              const WorkContext& work) {
  LINTEL_TRY_VOID(validate(observation));
  ExplainResult result;
  result.body = LINTEL_TRY(posture::body_parameters(athlete));
  const posture::AthleteLimits limits =
      LINTEL_TRY(posture::limits_from_tests(athlete, result.body.lengths));
  result.tests_done = count_tests(athlete);
  result.setup = athlete.setup;
  if (observation.depth && !result.setup.surface_height) {
    result.setup.depth = observation.depth->value;
  }
  result.observed = observation.trunk_inclination;
  result.allowed = options.allowed.value_or(default_allowed_setup(result.body, result.setup));
  const BestSetup reference = LINTEL_TRY(
      find_best_setup(result.body, result.setup,
                      reference_mobility(limits.limits, result.body.lengths), result.allowed));
  result.reference_setup = reference.setup;
  UncertainInput input{result.body,  result.setup, result.reference_setup, limits, result.observed,
                       std::nullopt, 0.0};
  LINTEL_TRY_VOID(add_shank(observation, input));
  const CoalitionTable tested = LINTEL_TRY(evaluate_all(mean_comparison(input)));
  result.uncertainty = LINTEL_TRY(compute_uncertainty(
      input, tested, {options.draws, options.seed, options.samples}, executor, work));
  result.uncertain_input = input;
  result.seed = options.seed;
  const UncertainInput fitted = fitted_input(input, result.uncertainty);
  LINTEL_TRY_VOID(solve_fitted(result, fitted));
  const posture::Model plain =
      LINTEL_TRY(posture::Model::create(result.body, result.setup, limits.limits));
  const posture::Solution strict =
      posture::solve_most_upright(plain, {}, &result.most_upright.warm_start);
  result.outcome = strict.outcome;
  result.conflict = strict.conflict;
  result.missing = missing_tests(limits, result.uncertainty,
                                 result.setup.bar_position == body::BarPosition::Overhead);
  if (options.extras == Extras::All) {
    LINTEL_TRY_VOID(add_extras(result, input, fitted, observation, options, work));
  }
  return result;
}

}  // namespace lintel::reasoning
