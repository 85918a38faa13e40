#include "formats/assessment_json.h"

#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <nlohmann/json.hpp>

#include "formats/assessment_channels.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

using kinematics::Measurement;
using kinematics::Repetition;

Json text_or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

Json clip_json(const view::ClipFacts& clip) {
  return {{"file_name", text_or_null(clip.file_name)},
          {"sha256", text_or_null(clip.sha256)},
          {"recorded_on", text_or_null(clip.recorded_on)},
          {"width_px", clip.width_px},
          {"height_px", clip.height_px},
          {"frame_rate_hz", number(clip.frame_rate)},
          {"frame_count", clip.frame_count},
          {"duration_s", number(clip.duration)}};
}

Json optional_number(const std::optional<double>& value, double factor) {
  return value ? number(*value * factor) : Json(nullptr);
}

// Entered by a person, therefore without an error.
Json setup_json(const view::SetupFacts& setup) {
  return {{"bar_mass_kg", optional_number(setup.bar_mass, 1)},
          {"stance_width_cm", optional_number(setup.stance_width, kCentimetres)},
          {"toe_out_deg", optional_number(setup.toe_out, kDegrees)},
          {"heel_elevation_cm", optional_number(setup.heel_elevation, kCentimetres)},
          {"grip_width_cm", optional_number(setup.grip_width, kCentimetres)},
          {"bar_position", text_or_null(setup.bar_position)}};
}

const char* view_name(kinematics::View view) {
  switch (view) {
    case kinematics::View::Side:
      return "side";
    case kinematics::View::Front:
      return "front";
    case kinematics::View::Oblique:
      return "oblique";
    case kinematics::View::Unknown:
      break;
  }
  return "unknown";
}

Json camera_json(const kinematics::CameraCheck& camera) {
  return {{"view", view_name(camera.view)},
          {"near_side", camera.near_side == kinematics::BodySide::Left ? "left" : "right"},
          {"facing", camera.facing >= 0 ? "right" : "left"},
          {"yaw_deg", estimate(camera.yaw, kDegrees)},
          {"roll_deg", estimate(camera.roll, kDegrees)},
          {"pitch_deg", estimate(camera.pitch, kDegrees)},
          {"distance_m", estimate(camera.distance, 1)},
          {"yaw_corrected", camera.yaw_corrected}};
}

Json scale_json(const kinematics::CameraCheck& camera) {
  const char* source = camera.scale_source == kinematics::ScaleSource::Disc      ? "disc"
                       : camera.scale_source == kinematics::ScaleSource::Stature ? "stature"
                                                                                 : "none";
  return {{"source", source}, {"pixels_per_metre", estimate(camera.pixels_per_metre, 1)}};
}

// Where in the clip: frame in decode order, and time.
Json moment_json(const Measurement& m, std::size_t index) {
  const bool has_frame = index < m.frame_index.size();
  const bool has_time = index < m.time.size();
  return {{"frame", has_frame ? Json(m.frame_index[index]) : Json(nullptr)},
          {"time_s", has_time ? number(m.time[index]) : Json(nullptr)}};
}

const char* outcome_name(kinematics::RepetitionOutcome outcome) {
  switch (outcome) {
    case kinematics::RepetitionOutcome::Completed:
      return "completed";
    case kinematics::RepetitionOutcome::Failed:
      return "failed";
    case kinematics::RepetitionOutcome::CutOff:
      break;
  }
  return "cut_off";
}

Json repetition_json(const Measurement& m, const Repetition& repetition, std::size_t number_of) {
  Json pauses = Json::array();
  for (const kinematics::Pause& pause : repetition.pauses) {
    pauses.push_back({{"start_s", number(pause.start)}, {"duration_s", number(pause.duration)}});
  }
  Json channels = Json::object();
  for (std::size_t c = 0; c < repetition.channels.size(); ++c) {
    const ChannelUnits units = units_of(c);
    const auto& extreme = repetition.channels[c];
    channels[units.key] = {{"start", estimate(extreme.start, units.factor)},
                           {"bottom", estimate(extreme.bottom, units.factor)},
                           {"change", estimate(extreme.change, units.factor)}};
  }
  Json json = {
      {"number", number_of},
      {"outcome", outcome_name(repetition.outcome)},
      {"start", moment_json(m, repetition.start_frame)},
      {"bottom", moment_json(m, repetition.bottom_frame)},
      {"end", moment_json(m, repetition.end_frame)},
      {"descent_s", number(repetition.descent_duration)},
      {"near_bottom_s", number(repetition.bottom_duration)},
      {"ascent_s", number(repetition.ascent_duration)},
      {"pauses", pauses},
      {"below_parallel", repetition.below_parallel},
      {"shoulder_change_demanded_deg", estimate(repetition.shoulder_change_demanded, kDegrees)},
      {"shoulder_change_given_deg", estimate(repetition.shoulder_change_given, kDegrees)},
      {"channels", channels}};
  for (const kinematics::RepetitionMoment moment : repetition.moved_by_hand) {
    json["moved_by_hand"].push_back(kinematics::repetition_moment_name(moment));
  }
  return json;
}

Json consistency_json(const kinematics::Consistency& consistency) {
  Json bottom = Json::object();
  for (std::size_t c = 0; c < consistency.bottom.size(); ++c) {
    const ChannelUnits units = units_of(c);
    bottom[units.key] = {
        {"mean", number(consistency.bottom[c].value * units.factor)},
        {"standard_deviation", number(consistency.bottom[c].standard_error * units.factor)}};
  }
  return {{"repetitions", consistency.repetitions}, {"bottom", bottom}};
}

Json extreme_json(const Measurement& m, const kinematics::Series& series, std::size_t index,
                  double factor) {
  const double error =
      index < series.standard_error.size() ? series.standard_error[index] : std::nan("");
  Json json = estimate({series.fitted[index], error}, factor);
  json["time_s"] = index < m.time.size() ? number(m.time[index]) : Json(nullptr);
  return json;
}

Json curves_json(const Measurement& m) {
  Json curves = Json::object();
  for (std::size_t c = 0; c < m.series.size(); ++c) {
    const kinematics::Series& series = m.series[c];
    const ChannelUnits units = units_of(c);
    std::size_t seen = 0;
    std::size_t lowest = 0;
    std::size_t highest = 0;
    for (std::size_t i = 0; i < series.fitted.size(); ++i) {
      if (!std::isfinite(series.fitted[i])) continue;
      if (seen == 0 || series.fitted[i] < series.fitted[lowest]) lowest = i;
      if (seen == 0 || series.fitted[i] > series.fitted[highest]) highest = i;
      ++seen;
    }
    Json entry = {{"frames_with_value", seen}, {"filter_cutoff_hz", number(series.cutoff_hz)}};
    entry["lowest"] = seen == 0 ? Json(nullptr) : extreme_json(m, series, lowest, units.factor);
    entry["highest"] = seen == 0 ? Json(nullptr) : extreme_json(m, series, highest, units.factor);
    curves[units.key] = entry;
  }
  return curves;
}

Json front_json(const kinematics::FrontMeasurement& front) {
  const auto sides = [](const std::array<Estimate, 2>& both, double factor) {
    return Json{{"left", estimate(both[0], factor)}, {"right", estimate(both[1], factor)}};
  };
  return {{"stance_width_cm", estimate(front.stance_width, kCentimetres)},
          {"toe_out_deg", sides(front.toe_out, kDegrees)},
          {"grip_width_cm", estimate(front.grip_width, kCentimetres)},
          {"knee_line_bottom_cm", sides(front.knee_line_bottom, kCentimetres)},
          {"hip_shift_bottom_cm", estimate(front.hip_shift_bottom, kCentimetres)},
          {"bar_tilt_bottom_deg", estimate(front.bar_tilt_bottom, kDegrees)}};
}

Json optional_estimate(const std::optional<Estimate>& e, double factor) {
  return e ? estimate(*e, factor) : Json(nullptr);
}

Json explanation_json(const view::Explanation& explanation) {
  Json parts = Json::array();
  for (const view::ExplanationPart& part : explanation.parts) {
    parts.push_back(
        {{"factor", part.factor},
         {"label", part.label},
         {"share_deg", number(part.share * kDegrees)},
         {"interval_95_deg",
          {{"low", number(part.low * kDegrees)}, {"high", number(part.high * kDegrees)}}},
         {"probability_largest", number(part.probability_largest)}});
  }
  Json steps = Json::array();
  for (const view::NextStep& step : explanation.next_steps) {
    steps.push_back({{"title", step.title},
                     {"detail", text_or_null(step.detail)},
                     {"less_lean_deg", optional_estimate(step.less_lean, kDegrees)}});
  }
  return {
      {"observed_trunk_inclination_deg",
       optional_estimate(explanation.observed_inclination, kDegrees)},
      {"most_upright_trunk_inclination_deg", optional_estimate(explanation.most_upright, kDegrees)},
      {"parts", parts},
      {"cannot_tell", text_or_null(explanation.cannot_tell)},
      {"missing_tests", explanation.missing_tests},
      {"sentences", explanation.sentences},
      {"next_steps", steps}};
}

void add_side(Json& root, const Measurement& m) {
  root["camera"] = camera_json(m.camera);
  root["scale"] = scale_json(m.camera);
  for (const kinematics::Warning& warning : m.warnings) {
    root["warnings"].push_back({{"code", kinematics::warning_code_name(warning.code)},
                                {"message", warning.message},
                                {"advice", text_or_null(warning.advice)}});
  }
  for (std::size_t r = 0; r < m.repetitions.size(); ++r) {
    root["repetitions"].push_back(repetition_json(m, m.repetitions[r], r + 1));
  }
  root["consistency"] = consistency_json(m.consistency);
  root["curves"] = curves_json(m);
}

}  // namespace

std::string write_assessment_json(const view::Assessment& assessment) {
  Json root;
  root["schema"] = "lintel-assessment-1";
  root["program"] = {{"name", "Lintel"}, {"version", assessment.program_version}};
  root["assessed_on"] = text_or_null(assessment.assessed_on);
  root["athlete"] = {{"id", text_or_null(assessment.athlete_id)},
                     {"name", text_or_null(assessment.athlete_name)}};
  root["clip"] = clip_json(assessment.clip);
  root["setup"] = setup_json(assessment.setup);
  root["camera"] = nullptr;
  root["scale"] = nullptr;
  root["warnings"] = Json::array();
  root["repetitions"] = Json::array();
  root["consistency"] = nullptr;
  root["curves"] = nullptr;
  if (assessment.side != nullptr) add_side(root, *assessment.side);
  root["front"] = assessment.front == nullptr ? Json(nullptr) : front_json(*assessment.front);
  root["explanation"] =
      assessment.explanation ? explanation_json(*assessment.explanation) : Json(nullptr);
  root["cautions"] = cautions_json();
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
