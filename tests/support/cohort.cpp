#include "support/cohort.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>

#include "base/random.h"
#include "body/anthropometry.h"
#include "body/knee_to_wall.h"
#include "body/tables.h"
#include "reasoning/best_setup.h"

namespace lintel::test {
namespace {

using body::MobilityTest;
using posture::Limit;
using reasoning::Factor;

constexpr double kDegree = kRadiansPerDegree;

struct Tested {
  Limit limit;
  MobilityTest test;
  const char* error_key;
};
constexpr std::array<Tested, 8> kTested = {{
    {Limit::KneeFlexion, MobilityTest::KneeFlexion, "knee_flexion.test_error"},
    {Limit::HipFlexion, MobilityTest::HipFlexion, "hip_flexion.test_error"},
    {Limit::HipAbduction, MobilityTest::HipAbduction, "hip_abduction.test_error"},
    {Limit::HipExternalRotation, MobilityTest::HipExternalRotation,
     "hip_external_rotation.test_error"},
    {Limit::LumbarFlexion, MobilityTest::LumbarFlexion, "lumbar_flexion.test_error"},
    {Limit::ThoracicExtension, MobilityTest::ThoracicExtension, "thoracic_extension.test_error"},
    {Limit::ShoulderElevation, MobilityTest::ShoulderFlexion, "shoulder_elevation.test_error"},
    {Limit::LatissimusLength, MobilityTest::ArmToWallTurnedOut, "latissimus_elevation.test_error"},
}};

void inject(CohortAthlete& a, Random& random) {
  constexpr std::array<Factor, 9> kInjected = {Factor::Stance,   Factor::Heel,       Factor::Ankle,
                                               Factor::Ankle,    Factor::Hip,        Factor::Thorax,
                                               Factor::Shoulder, Factor::Latissimus, Factor::Habit};
  a.injected = kInjected[static_cast<std::size_t>(random.uniform(0.0, 9.0))];
  const double amount = random.uniform();  // 0 = little, 1 = much
  switch (a.injected) {
    case Factor::Stance:
      a.noted.setup.stance_width = 0.34 - 0.16 * amount;
      break;
    case Factor::Heel:
      a.noted.setup.heel_elevation = 0.0;
      break;
    case Factor::Ankle:
      a.limits[Limit::AnkleDorsiflexion].edge -= (2.0 + 14.0 * amount) * kDegree;
      break;
    case Factor::Hip:
      a.limits[Limit::HipFlexion].edge -= (5.0 + 35.0 * amount) * kDegree;
      break;
    case Factor::Thorax:
      a.limits[Limit::ThoracicExtension].edge -= (5.0 + 15.0 * amount) * kDegree;
      break;
    case Factor::Shoulder:
      a.limits[Limit::ShoulderElevation].edge -= (5.0 + 25.0 * amount) * kDegree;
      break;
    case Factor::Latissimus:
      a.limits[Limit::LatissimusLength].edge -= (10.0 + 30.0 * amount) * kDegree;
      break;
    default:
      a.habit = (1.0 + 17.0 * amount) * kDegree;
  }
}

// Tests of the true limits with their errors.
void take_tests(CohortAthlete& a, const body::SegmentLengths& true_lengths, Random& random) {
  const body::NumberTable& table = body::limit_table();
  for (const Tested& entry : kTested) {
    const double error = table.value(entry.error_key);
    double edge = a.limits[entry.limit].edge + random.normal() * error;
    if (entry.test == MobilityTest::ArmToWallTurnedOut) edge = std::numbers::pi - edge;
    const bool wall = entry.test == MobilityTest::ArmToWallTurnedOut;
    const body::Number& range =
        body::range_table()[wall ? std::string("test.latissimus_short_of_wall")
                                 : "test." + std::string(body::mobility_test_name(entry.test))];
    edge = std::clamp(edge, range.low, range.high);
    a.noted.tests[entry.test] = {Estimate{edge, 0.0}, std::nullopt};
  }
  const double ankle = a.limits[Limit::AnkleDorsiflexion].edge;
  if (random.uniform() < 0.5) {
    const double angle = ankle + random.normal() * table.value("ankle_dorsiflexion.test_error");
    a.noted.tests[MobilityTest::AnkleDorsiflexion] = {
        Estimate{std::clamp(angle, 0.0, 60.0 * kDegree), 0.0}, std::nullopt};
    return;
  }
  // The kneecap's own depth differs from person to person as well.
  const double knee = random.normal() * table["knee_to_wall.knee_front"].standard_deviation;
  const double distance = body::knee_to_wall_from_dorsiflexion({ankle, 0.0}, true_lengths).value +
                          knee + random.normal() * table.value("knee_to_wall.test_error");
  a.noted.tests[MobilityTest::KneeToWall] = {Estimate{std::clamp(distance, -0.05, 0.25), 0.0},
                                             std::nullopt};
}

void draw_couplings(posture::Couplings& c, Random& random) {
  const body::NumberTable& table = body::limit_table();
  const auto vary = [&](double& value, const char* key) {
    value = std::max(0.0, value + random.normal() * table[key].standard_deviation);
  };
  vary(c.hip_flexion_per_abduction, "hip_flexion.per_abduction");
  vary(c.hip_flexion_per_external_rotation, "hip_flexion.per_external_rotation");
  vary(c.shoulder_per_grip_abduction, "shoulder_elevation.per_grip_abduction");
  vary(c.latissimus_per_grip_abduction, "latissimus_elevation.per_grip_abduction");
  vary(c.latissimus_per_lumbar_flexion, "latissimus_elevation.per_lumbar_flexion");
}

// What nobody tests: balance, arm tilt, line of the knee, and the rest of the spine.
void draw_untested(posture::Limits& limits, double foot, Random& random) {
  const body::NumberTable& table = body::limit_table();
  const auto vary = [&](Limit limit, double sd, double least) {
    double& edge = limits[limit].edge;
    edge = std::max(least * edge, edge + random.normal() * sd);
  };
  const double balance = table["balance.half_width_of_foot"].standard_deviation * foot;
  vary(Limit::BalanceForward, balance, 0.2);
  vary(Limit::BalanceBackward, balance, 0.2);
  vary(Limit::ArmTiltForward, table["arm_tilt.forward"].standard_deviation, 0.2);
  vary(Limit::ArmTiltBackward, table["arm_tilt.backward"].standard_deviation, 0.2);
  vary(Limit::KneeOutward, table["knee_line.outward"].standard_deviation, 0.2);
  vary(Limit::KneeInward, table["knee_line.inward"].standard_deviation, 0.2);
  vary(Limit::LumbarExtension, table["lumbar_extension.average"].standard_deviation, 0.0);
  vary(Limit::ThoracicFlexion, table["thoracic_flexion.average"].standard_deviation, 0.0);
}

}  // namespace

std::optional<CohortAthlete> cohort_athlete(std::uint64_t seed, std::uint64_t index) {
  Random random(seed, index);
  CohortAthlete a;
  body::Athlete& n = a.noted;
  n.sex = random.uniform() < 0.5 ? body::Sex::Female : body::Sex::Male;
  const double mean = n.sex == body::Sex::Male ? 1.756 : 1.629;  // ANSUR II 2012
  n.stature = std::clamp(random.normal(mean, 0.065), 1.45, 2.0);
  n.body_mass = random.uniform(20.0, 29.0) * n.stature * n.stature;
  const auto estimated = body::estimate_segments(n.sex, n.stature).value();
  body::SegmentLengths lengths = estimated;
  for (Estimate& length : lengths.length) length.value += random.normal() * length.standard_error;
  a.body = posture::make_body_parameters(n.sex, n.stature, n.body_mass, lengths);
  const double foot = lengths[body::Segment::Foot].value;
  a.limits = reasoning::reference_mobility(posture::average_limits(foot), lengths);
  for (const Tested& entry : kTested) a.limits[entry.limit].edge += random.normal() * 2.0 * kDegree;
  a.limits[Limit::AnkleDorsiflexion].edge += random.normal() * 1.5 * kDegree;
  draw_couplings(a.limits.couplings, random);
  draw_untested(a.limits, foot, random);
  n.setup.stance_width = random.uniform(0.39, 0.44);
  n.setup.toe_out = random.uniform(25.0, 30.0) * kDegree;
  n.setup.heel_elevation = random.uniform(0.008, 0.013);
  n.setup.grip_width = random.uniform(0.80, 1.0);
  n.setup.bar_mass = random.uniform(10.0, 40.0);
  inject(a, random);
  take_tests(a, lengths, random);
  if (!body::find_faults(n).empty()) return std::nullopt;
  // What is seen: the most upright posture of the true body, the habit, the camera's error. The
  // reference needs a setup only to have a zero; any setup gives the same lean of today.
  const auto today = reasoning::evaluate_most_upright(a.body, n.setup, a.limits);
  if (!today) return std::nullopt;
  return a;
}

namespace {
Factor largest(const std::array<double, reasoning::kFactorCount>& values) {
  return static_cast<Factor>(std::max_element(values.begin(), values.end()) - values.begin());
}
}  // namespace

std::optional<CohortView> look_at(const CohortAthlete& athlete, std::uint64_t seed) {
  // The reference setup as explain() will choose it, to say what is true about this athlete.
  const auto estimated = posture::body_parameters(athlete.noted);
  if (!estimated) return std::nullopt;
  const auto limits = posture::limits_from_tests(athlete.noted, estimated->lengths);
  if (!limits) return std::nullopt;
  const auto allowed = reasoning::default_allowed_setup(*estimated, athlete.noted.setup);
  const auto best = reasoning::find_best_setup(
      *estimated, athlete.noted.setup,
      reasoning::reference_mobility(limits->limits, estimated->lengths), allowed);
  if (!best) return std::nullopt;
  const reasoning::Comparison truth{
      athlete.body, athlete.noted.setup, best->setup, athlete.limits,
      reasoning::reference_mobility(athlete.limits, athlete.body.lengths)};
  const auto table = reasoning::evaluate_all(truth);
  if (!table) return std::nullopt;
  const double upright = reasoning::compute_shares(*table, std::nullopt).most_upright;
  const double lean = upright + athlete.habit;
  CohortView view;
  view.true_part = reasoning::compute_shares(*table, lean).parts;
  view.truly_largest = largest(view.true_part);
  Random camera(seed ^ 0x9e3779b97f4a7c15ULL, 1);
  const double error = 1.5 * kDegree;
  view.seen.trunk_inclination =
      Estimate{std::clamp(lean + camera.normal() * error, -29.0 * kDegree, 99.0 * kDegree), error};
  // The shank of the true body at that lean, its weight not exactly where the model puts it.
  body::Setup stance = athlete.noted.setup;
  stance.center_of_pressure_target = 0.007 * camera.normal();
  const auto posture = reasoning::posture_at_lean(athlete.body, stance, athlete.limits, lean);
  if (posture && *posture) {
    view.seen.shank_inclination =
        Estimate{(*posture)->shank_inclination + camera.normal() * error, error};
  }
  return view;
}

CohortOutcome examine(const CohortAthlete& athlete, int draws, std::uint64_t seed) {
  CohortOutcome out;
  out.injected = athlete.injected;
  const auto view = look_at(athlete, seed);
  if (!view) return out;
  out.true_part = view->true_part;
  out.truly_largest = view->truly_largest;
  SerialExecutor executor;
  reasoning::ExplainOptions options;
  options.draws = draws;
  options.seed = seed;
  options.extras = reasoning::Extras::SharesOnly;
  const auto result = reasoning::explain(athlete.noted, view->seen, options, executor, {});
  if (!result) return out;
  const auto& u = result->uncertainty;
  out.probability = u.probability_largest;
  out.named = largest(out.probability);
  out.injected_part = out.true_part[reasoning::index_of(out.injected)];
  for (std::size_t i = 0; i < reasoning::kFactorCount; ++i) {
    out.covered[i] = out.true_part[i] >= u.parts[i].low && out.true_part[i] <= u.parts[i].high;
  }
  out.valid = true;
  return out;
}

}  // namespace lintel::test
