#include "app/seen_squat.h"

#include <cmath>

#include "app/text_file.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestAssessment = 16u << 20;
constexpr double kEyeError = 3.0 * kRadiansPerDegree;  // of an angle read off a still, from memory

std::optional<Estimate> known(const Estimate& e) {
  if (!std::isfinite(e.value) || !std::isfinite(e.standard_error)) return std::nullopt;
  return e;
}

const Estimate& bottom_of(const kinematics::Repetition& repetition, kinematics::Channel channel) {
  return repetition.channels[static_cast<std::size_t>(channel)].bottom;
}

// Completed repetitions of the side view, one by one and their means.
void add_repetitions(const kinematics::Measurement& measurement, SeenSquat& seen) {
  using kinematics::Channel;
  std::vector<Estimate> trunk, shank, depth, shoulder, heel;
  for (std::size_t i = 0; i < measurement.repetitions.size(); ++i) {
    const kinematics::Repetition& r = measurement.repetitions[i];
    if (r.outcome != kinematics::RepetitionOutcome::Completed) continue;
    trunk.push_back(bottom_of(r, Channel::TrunkInclination));
    shank.push_back(bottom_of(r, Channel::ShankInclination));
    depth.push_back(bottom_of(r, Channel::Depth));
    shoulder.push_back(r.shoulder_change_given);
    heel.push_back(bottom_of(r, Channel::HeelLift));
    seen.repetitions.push_back({static_cast<int>(i) + 1, measurement.frame_index[r.bottom_frame],
                                known(trunk.back()), known(shank.back()), known(shoulder.back()),
                                known(heel.back())});
  }
  seen.observation.trunk_inclination = reasoning::mean_over_repetitions(trunk);
  seen.observation.shank_inclination = reasoning::mean_over_repetitions(shank);
  seen.observation.depth = reasoning::mean_over_repetitions(depth);
  seen.observation.shoulder_change_given = reasoning::mean_over_repetitions(shoulder);
  seen.observation.heel_lift = reasoning::mean_over_repetitions(heel);
}

}  // namespace

Result<SeenSquat> seen_in_assessment(std::string_view json, std::string name) {
  SeenSquat seen;
  seen.assessment = std::move(name);
  seen.stored = LINTEL_TRY(formats::read_assessment_json(json, seen.assessment));
  if (seen.stored->side) add_repetitions(*seen.stored->side, seen);
  if (!seen.observation.trunk_inclination) {
    Error error{ErrorCode::Invalid,
                "the assessment holds no completed repetition",
                {},
                "assess a clip with a whole squat in it",
                {}};
    error.with_file(seen.assessment);
    return fail(std::move(error));
  }
  return seen;
}

Result<SeenSquat> read_seen_squat(const SeenSource& source) {
  SeenSquat seen;
  if (source.assessment && source.trunk_inclination) {
    Error error{ErrorCode::Invalid,
                "an assessment and an angle were both given",
                {},
                "leave one of them out",
                {}};
    error.place.field = "trunk_inclination";
    return fail(std::move(error));
  }
  if (source.trunk_inclination) {
    const double error = source.trunk_error ? source.trunk_error->radians() : kEyeError;
    seen.observation.trunk_inclination = Estimate{source.trunk_inclination->radians(), error};
  }
  if (!source.assessment) return seen;
  const std::string text = LINTEL_TRY(read_text_file(
      *source.assessment, kLargestAssessment, "give the assessment.json of a results folder"));
  return seen_in_assessment(text, source.assessment->filename().string());
}

}  // namespace lintel::app
