#include "app/explain.h"

#include <vector>

#include "app/explain_view.h"
#include "jobs/thread_pool.h"
#include "reasoning/seen_posture.h"

namespace lintel::app {
namespace {

using kinematics::Channel;

constexpr int kDraws = 2000;  // 95 % intervals to about a fifth of a degree, half a second
constexpr std::uint64_t kSeed = 1;

reasoning::Observation observe_bottom(const kinematics::Measurement& measurement) {
  using kinematics::Repetition;
  const auto mean_of = [&measurement](const auto& of) {
    std::vector<Estimate> values;
    for (const Repetition& repetition : measurement.repetitions) {
      if (repetition.outcome == kinematics::RepetitionOutcome::Completed) {
        values.push_back(of(repetition));
      }
    }
    return reasoning::mean_over_repetitions(values);
  };
  const auto bottom = [](Channel channel) {
    return [channel](const Repetition& repetition) {
      return repetition.channels[static_cast<std::size_t>(channel)].bottom;
    };
  };
  reasoning::Observation seen;
  seen.trunk_inclination = mean_of(bottom(Channel::TrunkInclination));
  seen.shank_inclination = mean_of(bottom(Channel::ShankInclination));
  seen.depth = mean_of(bottom(Channel::Depth));
  seen.shoulder_change_given = mean_of([](const Repetition& r) { return r.shoulder_change_given; });
  return seen;
}

view::Explanation nothing_to_tell(std::string why) {
  view::Explanation out;
  out.cannot_tell = std::move(why);
  return out;
}

}  // namespace

Result<view::Explanation> explain_measurement(const body::Athlete& athlete, bool stature_known,
                                              const kinematics::Measurement& measurement,
                                              const WorkContext& work) {
  const reasoning::Observation seen = observe_bottom(measurement);
  if (!seen.trunk_inclination) {
    return nothing_to_tell(
        "No completed repetition was found, so there is no bottom position to explain.");
  }
  view::Explanation bare;
  bare.observed_inclination = seen.trunk_inclination;
  if (!stature_known || athlete.stature <= 0.0 || athlete.body_mass <= 0.0) {
    bare.cannot_tell =
        "To tell what makes the trunk lean, the athlete's stature, body mass and mobility tests "
        "are "
        "needed: give an athlete file.";
    bare.missing_tests = core_test_labels();
    return bare;
  }
  jobs::ThreadPool pool(0);
  reasoning::ExplainOptions options;
  options.draws = kDraws;
  options.seed = kSeed;
  const auto result = LINTEL_TRY(reasoning::explain(athlete, seen, options, pool, work));
  return to_view(result);
}

}  // namespace lintel::app
