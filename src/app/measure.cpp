#include "app/measure.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>

#include "app/fit_priors.h"
#include "base/text.h"
#include "kinematics/assemble.h"
#include "kinematics/butterworth.h"
#include "kinematics/foreshortening.h"
#include "kinematics/landmarks.h"
#include "kinematics/raw_curves.h"

namespace lintel::app {
namespace {

using kinematics::Channel;
using kinematics::Measurement;
using kinematics::Warning;
using kinematics::WarningCode;

// Fewer frames a second than this leave the turning point unseen (common practice, no source).
constexpr double kLeastRate = 20.0;
// Mean luma below which landmarks suffer (common practice, no source).
constexpr double kDarkPicture = 0.12;
constexpr double kFewBodyFrames = 0.8;     // share of frames
constexpr double kHeelLiftWarned = 0.015;  // [m]

Error turned_too_far(const kinematics::CameraCheck& check) {
  return Error{ErrorCode::Unsupported,
               text("the camera stands %.0f degrees off a side view; beyond %.0f degrees the side "
                    "view holds too little to measure from",
                    std::abs(check.yaw.value) * kDegreesPerRadian,
                    kinematics::kTurnRefused * kDegreesPerRadian),
               {},
               "film again with the camera level with the hips, square to the bar's end, four to "
               "six metres away; or straight from the front for knees, stance and grip",
               {}};
}

// The turn from both ends of the bar beats all else where the far disc is seen. A disc has a
// thickness, so that the silhouette of a turned one is rounder than its face: the turn from its
// axes alone reads low and does not count then.
void use_disc_pair(const Observation& observation, kinematics::CameraFinding& camera) {
  if (!observation.turn_from_disc_pair) return;
  const Estimate pair = *observation.turn_from_disc_pair;
  camera.check.yaw = {camera.check.facing * pair.value, pair.standard_error};
}

Result<void> fill_series(const kinematics::ClipObservation& clip, const MeasureRequest& request,
                         const kinematics::CameraCheck& check, const fitting::FitResult& fit,
                         Measurement& measurement) {
  kinematics::RawCurveOptions raw_options;
  raw_options.disc_radius = 0.5 * request.disc_diameter;
  auto raw = kinematics::raw_curves(clip, check, raw_options);
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    const auto channel = static_cast<Channel>(c);
    kinematics::Series& series = measurement[channel];
    series.raw = std::move(raw[static_cast<std::size_t>(c)]);
    kinematics::FilteredCurve filtered =
        LINTEL_TRY(kinematics::filter_curve(measurement.time, series.raw));
    series.filtered = std::move(filtered.value);
    series.cutoff_hz = filtered.cutoff_hz;
    const fitting::FittedSeries& fitted = fit[channel];
    series.fitted = fitted.value;
    series.standard_error = fitted.standard_error;
    series.rate = fitted.rate;
  }
  return {};
}

bool bar_on_body(const MeasureRequest& request) {
  if (!request.athlete) return false;
  const body::BarPosition position = request.athlete->setup.bar_position;
  return position == body::BarPosition::Back || position == body::BarPosition::Front;
}

// With the bar on the body the line from shoulder to bar is no arm.
void drop_arm_channels(Measurement& measurement) {
  for (const Channel channel :
       {Channel::ArmInclination, Channel::ShoulderElevation, Channel::ElbowFlexion}) {
    kinematics::Series& series = measurement[channel];
    for (std::vector<double>* values :
         {&series.raw, &series.filtered, &series.fitted, &series.standard_error, &series.rate}) {
      std::ranges::fill(*values, std::numeric_limits<double>::quiet_NaN());
    }
  }
}

kinematics::CurveErrors curve_errors(const fitting::FitResult& fit) {
  kinematics::CurveErrors errors;
  errors.covariance = [model = fit.errors, &fit](Channel a, std::size_t i, Channel b,
                                                 std::size_t j) -> std::optional<double> {
    if (a == b && i == j) {
      const double error = fit[a].standard_error[i];
      return error * error;
    }
    return model.shared_covariance(a, i, b, j);
  };
  return errors;
}

std::optional<Warning> heel_warning(const Measurement& measurement) {
  const kinematics::Series& lift = measurement[Channel::HeelLift];
  for (const kinematics::Repetition& repetition : measurement.repetitions) {
    if (repetition.bottom_frame >= lift.fitted.size()) continue;
    const double height = lift.fitted[repetition.bottom_frame];
    const double error = lift.standard_error[repetition.bottom_frame];
    if (height > kHeelLiftWarned && height > 2 * error) {
      return Warning{WarningCode::HeelsLift,
                     text("The heels rise by %.1f cm at the bottom.", 100 * height),
                     "The ankle angle is taken against the raised foot."};
    }
  }
  return std::nullopt;
}

std::optional<Warning> foreshortened(const fitting::FitResult& fit,
                                     const Measurement& measurement) {
  // The skeleton fit knows the thigh's length and so its angle in space.
  for (const kinematics::Repetition& repetition : measurement.repetitions) {
    const std::size_t i = repetition.bottom_frame;
    if (i >= fit.thigh_inclination_3d.value.size()) continue;
    const double seen = fit[Channel::ThighInclination].value[i];
    const double true_angle = fit.thigh_inclination_3d.value[i];
    if (!(std::abs(seen - true_angle) > kinematics::kForeshorteningErrorWarned)) continue;
    return Warning{
        WarningCode::ThighForeshortened,
        text("The thighs point out of the picture's plane: seen from the side they stand at %.0f "
             "degrees from vertical, in space at %.0f. Knee flexion in space is %.0f degrees.",
             seen * kDegreesPerRadian, true_angle * kDegreesPerRadian,
             fit.knee_flexion_3d.value[i] * kDegreesPerRadian),
        "Film a wide or turned-out stance from the front as well."};
  }
  return std::nullopt;
}

// The same judged from the picture alone, should the fit not see it.
std::optional<Warning> foreshortened_in_picture(const kinematics::ClipObservation& clip,
                                                const kinematics::CameraCheck& check,
                                                const body::SegmentLengths& lengths,
                                                const Measurement& measurement) {
  if (check.scale_source == kinematics::ScaleSource::None) return std::nullopt;
  const auto leg_lengths = kinematics::leg_lengths_from_body(
      lengths[body::Segment::Thigh], lengths[body::Segment::Shank], check.pixels_per_metre);
  const kinematics::LegPerspective perspective{
      kinematics::sagittal_from_picture<double>({0.5 * clip.width_px, 0.5 * clip.height_px},
                                                check.facing, check.roll.value),
      check.pixels_per_metre.value * check.distance.value};
  for (const kinematics::Repetition& repetition : measurement.repetitions) {
    if (repetition.bottom_frame >= clip.frames.size()) continue;
    const auto& body = clip.frames[repetition.bottom_frame].body;
    if (!body) continue;
    const auto point = [&](kinematics::PairedLandmark joint) {
      return kinematics::sagittal_from_picture<double>(
          kinematics::point_px(*body, joint, check.near_side), check.facing, check.roll.value);
    };
    const kinematics::SideLeg leg{point(kinematics::PairedLandmark::Hip),
                                  point(kinematics::PairedLandmark::Knee),
                                  point(kinematics::PairedLandmark::Ankle)};
    const auto found = kinematics::assess_foreshortening(
        leg, leg_lengths, 0.02 * check.pixels_per_metre.value, perspective);
    if (auto warning = kinematics::foreshortening_warning(found)) return warning;
  }
  return std::nullopt;
}

void add_warning(std::vector<Warning>& warnings, std::optional<Warning> warning) {
  if (!warning) return;
  const bool known = std::ranges::any_of(
      warnings, [&](const Warning& other) { return other.code == warning->code; });
  if (!known) warnings.push_back(std::move(*warning));
}

// The head turns on the trunk as it likes: drawn where it is seen, half-way between the ears.
void place_heads(const kinematics::ClipObservation& clip,
                 std::vector<kinematics::Figure>& figures) {
  for (std::size_t i = 0; i < std::min(figures.size(), clip.frames.size()); ++i) {
    if (!clip.frames[i].body) continue;
    figures[i][static_cast<std::size_t>(kinematics::FigurePoint::Head)] =
        kinematics::midpoint_px(*clip.frames[i].body, kinematics::PairedLandmark::Ear)
            .cast<float>();
  }
}

// Repetitions as found, with the moments that a person put elsewhere marked.
Result<std::vector<kinematics::Repetition>> repetitions_of(const Measurement& measurement,
                                                           const MeasureRequest& request,
                                                           const kinematics::CurveErrors& errors) {
  const auto found = LINTEL_TRY(kinematics::find_events(measurement.time, measurement.series));
  const auto events = LINTEL_TRY(kinematics::with_shifted_events(
      found, request.shifted_events, measurement.time, measurement.frame_index));
  std::vector<kinematics::Repetition> out;
  for (const kinematics::RepetitionEvents& one : events) {
    out.push_back(kinematics::assemble_repetition(measurement.series, one, errors));
  }
  for (const kinematics::ShiftedEvent& event : request.shifted_events) {
    std::vector<kinematics::RepetitionMoment>& moved =
        out[static_cast<std::size_t>(event.repetition - 1)].moved_by_hand;
    if (std::ranges::find(moved, event.moment) == moved.end()) moved.push_back(event.moment);
  }
  return out;
}

std::optional<Warning> by_hand_warning(const MeasureRequest& request) {
  if (request.points_by_hand == 0 && request.shifted_events.empty()) return std::nullopt;
  return Warning{WarningCode::CorrectedByHand,
                 text("Corrected by hand: %zu points, %zu moments of repetitions.",
                      request.points_by_hand, request.shifted_events.size()),
                 ""};
}

Result<Measurement> side_measurement(const Observation& observation, const MeasureRequest& request,
                                     const body::SegmentLengths& lengths,
                                     const kinematics::CameraFinding& camera, bool disc_seen,
                                     const fitting::FitResult& fit) {
  Measurement measurement;
  measurement.camera = fit.camera;
  measurement.camera.view = camera.check.view;
  measurement.time = fit.time;
  measurement.frame_index = fit.frame_index;
  measurement.figures = fit.figures;
  place_heads(observation.clip, measurement.figures);
  LINTEL_TRY_VOID(fill_series(observation.clip, request, measurement.camera, fit, measurement));
  if (bar_on_body(request)) drop_arm_channels(measurement);
  const kinematics::CurveErrors errors = curve_errors(fit);
  measurement.repetitions = LINTEL_TRY(repetitions_of(measurement, request, errors));
  measurement.consistency = kinematics::compute_consistency(measurement.repetitions);

  std::vector<Warning>& warnings = measurement.warnings;
  for (Warning& warning : kinematics::camera_warnings(measurement.camera, disc_seen)) {
    add_warning(warnings, std::move(warning));
  }
  for (const Warning& warning : camera.warnings) {
    // What the first look said of the turn, the fit has said better.
    if (warning.code == WarningCode::CameraTurned ||
        warning.code == WarningCode::CameraTurnCorrected) {
      continue;
    }
    add_warning(warnings, warning);
  }
  for (Warning& warning : film_warnings(observation)) add_warning(warnings, std::move(warning));
  if (disc_seen && bar_on_body(request)) {
    add_warning(warnings, Warning{WarningCode::DiscHidesBody,
                                  "The disc hides shoulder or hip: trunk and hip angles may be off "
                                  "by more than their stated error.",
                                  "Use an empty bar to compare positions of the bar."});
  }
  add_warning(warnings, by_hand_warning(request));
  add_warning(warnings, heel_warning(measurement));
  add_warning(warnings, foreshortened(fit, measurement));
  if (!(disc_seen && bar_on_body(request))) {
    add_warning(warnings, foreshortened_in_picture(observation.clip, measurement.camera, lengths,
                                                   measurement));
  }
  if (measurement.repetitions.empty() && !observation.film.is_still) {
    add_warning(warnings, Warning{WarningCode::NoRepetition, "No squat was seen in this clip.",
                                  "Film from standing to standing."});
  }
  return measurement;
}

}  // namespace

std::vector<Warning> film_warnings(const Observation& observation) {
  std::vector<Warning> warnings;
  const FilmFacts& film = observation.film;
  if (film.is_still) {
    warnings.push_back({WarningCode::StillPicture,
                        "This is a single picture: angles, but no repetitions and no speeds.", ""});
  } else if (film.mean_rate > 0 && film.mean_rate < kLeastRate) {
    warnings.push_back({WarningCode::LowFrameRate,
                        text("The clip has %.0f frames a second.", film.mean_rate),
                        "Film with 30 or more, so that the turning point is seen."});
  }
  if (film.ended_early || film.corrupt_frames > 0) {
    warnings.push_back({WarningCode::ClipDamaged,
                        film.ended_early ? std::string("The file ends in the middle of its data.")
                                         : text("%ld frames of the file could not be decoded.",
                                                static_cast<long>(film.corrupt_frames)),
                        "Copy it from the phone again."});
  }
  if (film.mean_brightness < kDarkPicture) {
    warnings.push_back({WarningCode::PoorLight, "The picture is very dark.",
                        "Turn on a light behind the camera, none behind the athlete."});
  }
  if (observation.people > 1) {
    warnings.push_back({WarningCode::SeveralPeople,
                        text("%d people were seen; person %d from the left was measured.",
                             observation.people, observation.chosen_person),
                        "Choose another one if that is not the athlete (command line: --person)."});
  }
  const auto frames = static_cast<double>(observation.clip.frames.size());
  if (frames > 0 && static_cast<double>(observation.frames_with_body) < kFewBodyFrames * frames) {
    warnings.push_back({WarningCode::BodyLost,
                        text("The body was found in %.0f %% of the frames.",
                             100.0 * static_cast<double>(observation.frames_with_body) / frames),
                        "Keep the whole body, feet and bar in the picture."});
  }
  return warnings;
}

Result<Measured> measure_observation(const Observation& observation, const MeasureRequest& request,
                                     const WorkContext& work) {
  const kinematics::ClipObservation& clip = observation.clip;
  const body::SegmentLengths lengths = LINTEL_TRY(segment_lengths(request));
  const bool disc_seen = observation.frames_with_disc * 2 > observation.frames_with_body;

  kinematics::CameraCheckOptions options;
  options.lengths = lengths;
  options.disc_radius = 0.5 * request.disc_diameter;
  if (request.vertical_roll) {
    options.vertical_roll = Estimate{request.vertical_roll->radians(), 0.3 * kRadiansPerDegree};
  }
  Measured measured;
  measured.camera = kinematics::check_camera(clip, options);
  if (measured.camera.check.view == kinematics::View::Front) {
    kinematics::FrontOptions front;
    front.lengths = lengths;
    kinematics::FrontFinding found = LINTEL_TRY(kinematics::measure_front(clip, front));
    for (Warning& warning : film_warnings(observation)) {
      add_warning(found.warnings, std::move(warning));
    }
    add_warning(found.warnings, by_hand_warning(request));
    measured.front = std::move(found);
    return measured;
  }
  use_disc_pair(observation, measured.camera);
  if (!kinematics::side_measurement_allowed(measured.camera.check)) {
    return fail(turned_too_far(measured.camera.check));
  }

  const fitting::FitPriors priors = fit_priors(request, lengths, measured.camera, disc_seen,
                                               std::max(clip.width_px, clip.height_px));
  fitting::FitResult fit = LINTEL_TRY(fitting::fit_skeleton(clip, priors, {}, work));
  if (fit.outcome == fitting::FitOutcome::NotEnoughData ||
      fit.outcome == fitting::FitOutcome::NumericalFailure) {
    return fail(ErrorCode::Invalid, "the squat could not be measured: " + fit.outcome_reason,
                "film a clip that shows the whole body from the side for some seconds");
  }
  if (std::abs(fit.camera.yaw.value) > kinematics::kTurnRefused) {
    return fail(turned_too_far(fit.camera));
  }
  measured.side =
      LINTEL_TRY(side_measurement(observation, request, lengths, measured.camera, disc_seen, fit));
  measured.fit = std::move(fit);
  return measured;
}

}  // namespace lintel::app
