#include "app/assess.h"

#include <algorithm>

#include "app/athlete_file.h"
#include "app/corrections.h"
#include "app/explain.h"
#include "app/measure.h"
#include "app/memory.h"
#include "app/result_folder.h"
#include "app/second_pass.h"
#include "app/summary.h"
#include "app/version.h"
#include "formats/assessment_json.h"
#include "formats/curves_csv.h"
#include "formats/curves_json.h"
#include "formats/keypoints.h"
#include "report/athlete_page.h"
#include "report/plots.h"
#include "secure/sha256.h"
#include "view/assessment.h"

namespace lintel::app {
namespace {

view::ClipFacts clip_facts(const AssessRequest& request, const Observation& observation) {
  view::ClipFacts facts;
  facts.file_name = request.observe.clip.filename().string();
  facts.sha256 = secure::sha256_of_file(request.observe.clip).value_or("");
  facts.width_px = observation.clip.width_px;
  facts.height_px = observation.clip.height_px;
  facts.frame_rate = observation.clip.nominal_rate;
  facts.frame_count = observation.film.frames;
  facts.duration = observation.film.duration;
  return facts;
}

view::SetupFacts setup_facts(const body::Setup& setup) {
  view::SetupFacts facts;
  facts.bar_mass = setup.bar_mass;
  facts.stance_width = setup.stance_width;
  facts.toe_out = setup.toe_out;
  facts.heel_elevation = setup.heel_elevation;
  facts.grip_width = setup.grip_width;
  facts.bar_position = body::bar_position_name(setup.bar_position);
  return facts;
}

class Writer {
 public:
  Writer(const AssessRequest& request, const Observation& observation,
         const view::Assessment& assessment, ResultFolder& folder, const WorkContext& work)
      : request_(request),
        observation_(observation),
        assessment_(assessment),
        folder_(folder),
        work_(work) {}

  Result<void> write(const std::string& json) {
    add("assessment.json", "everything measured, for other programs");
    LINTEL_TRY_VOID(folder_.write_text("assessment.json", json));
    LINTEL_TRY_VOID(
        folder_.write_text("keypoints.csv", formats::write_keypoints_csv(observation_.clip)));
    add("keypoints.csv", "the body's points in the picture, frame by frame");
    LINTEL_TRY_VOID(
        folder_.write_text("keypoints.json", formats::write_keypoints_json(observation_.clip)));
    add("keypoints.json", "the same, the 17 points of the COCO order");
    SecondPass pass;
    if (assessment_.side != nullptr) pass = LINTEL_TRY(write_side(*assessment_.side));
    if (request_.athlete_page) LINTEL_TRY_VOID(write_page(pass));
    const std::string title = assessment_.athlete_name.empty()
                                  ? "Assessment of " + assessment_.clip.file_name
                                  : "Assessment of " + assessment_.athlete_name;
    return folder_.write_text(
        "README.txt", formats::write_output_readme(title + ", " + assessment_.assessed_on, files_));
  }

 private:
  void add(std::string name, std::string description) {
    files_.push_back({std::move(name), std::move(description)});
  }

  Result<SecondPass> write_side(const kinematics::Measurement& measurement) {
    LINTEL_TRY_VOID(folder_.write_text("curves.csv", formats::write_curves_csv(measurement)));
    if (request_.curves_json) {
      LINTEL_TRY_VOID(folder_.write_text("curves.json", formats::write_curves_json(measurement)));
    }
    add("curves.csv", "every angle and length over time: raw, filtered, fitted, error, rate");
    report::PlotInfo info;
    info.title = assessment_.athlete_name.empty()
                     ? assessment_.assessed_on
                     : assessment_.athlete_name + ", " + assessment_.assessed_on;
    info.units = request_.imperial ? report::UnitSystem::Imperial : report::UnitSystem::Metric;
    if (measurement.time.size() > 1) {
      const report::Plot angles = LINTEL_TRY(report::plot_angles(measurement, info));
      LINTEL_TRY_VOID(folder_.write_text("angles.svg", angles.svg));
      add("angles.svg", "trunk, shank, knee, hip and shoulder over time");
      if (const auto path = report::plot_bar_path(measurement, info)) {
        LINTEL_TRY_VOID(folder_.write_text("bar-path.svg", path->svg));
        add("bar-path.svg", "the path of the bar against mid-foot, to scale");
      }
    }
    SecondPass pass =
        LINTEL_TRY(draw_over_clip(request_, measurement, observation_.clip, folder_.path(), work_));
    if (request_.key_frames) {
      add("key-frames/", "start, bottom and end of each repetition with body and plumb line");
    }
    if (request_.overlay_video && measurement.time.size() > 1) {
      add("overlay.mp4", "the clip with body, bar, plumb line and angles drawn over it");
    }
    if (request_.screen_copy && measurement.time.size() > 1) {
      add(kScreenCopy, "the clip as it was filmed, for quick looking through");
    }
    return pass;
  }

  Result<void> write_page(const SecondPass& pass) {
    report::AthletePageOptions options;
    options.paper = request_.paper == PaperSize::Letter ? report::Paper::Letter : report::Paper::A4;
    options.units = request_.imperial ? report::UnitSystem::Imperial : report::UnitSystem::Metric;
    if (!pass.bottom_picture.empty()) options.bottom_picture = &pass.bottom_picture;
    options.bottom_index = pass.bottom_index;
    if (pass.bottom_index < observation_.clip.frames.size()) {
      options.disc = observation_.clip.frames[pass.bottom_index].disc;
    }
    const report::AthletePage page = LINTEL_TRY(report::render_athlete_page(assessment_, options));
    LINTEL_TRY_VOID(folder_.write_text("athlete-page.pdf", page.pdf));
    add("athlete-page.pdf", "one page for the athlete");
    return {};
  }

  const AssessRequest& request_;
  const Observation& observation_;
  const view::Assessment& assessment_;
  ResultFolder& folder_;
  const WorkContext& work_;
  std::vector<formats::OutputFile> files_;
};

}  // namespace

std::string_view version() {
  return LINTEL_VERSION;
}

namespace {

// What the athlete's file and the request say about measuring.
Result<MeasureRequest> measure_request(const AssessRequest& request) {
  MeasureRequest measure;
  if (request.athlete) {
    measure.athlete = LINTEL_TRY(read_athlete_file(*request.athlete));
    measure.stature_known = measure.athlete->stature > 0;
    measure.disc_diameter = measure.athlete->setup.disc_diameter;
  }
  if (request.disc_diameter) measure.disc_diameter = request.disc_diameter->metres();
  if (request.corrections.disc_diameter) measure.disc_diameter = *request.corrections.disc_diameter;
  measure.vertical_roll = request.vertical_roll;
  if (request.corrections.vertical_roll) {
    measure.vertical_roll = Angle::radians(*request.corrections.vertical_roll);
  }
  measure.shifted_events = request.corrections.events;
  measure.points_by_hand = request.corrections.points.size();
  return measure;
}

Result<ResultFolder> claim_folder(const AssessRequest& request) {
  return ResultFolder::create(*request.output, request.overwrite);
}

Result<AssessOutcome> assess_into(const AssessRequest& request, MeasureRequest measure,
                                  const Observation& observation,
                                  std::optional<ResultFolder> folder, const WorkContext& work) {
  if (request.focal_px) measure.focal_px = *request.focal_px * observation.film.scale;
  const Measured measured = LINTEL_TRY(measure_observation(observation, measure, work));

  view::Assessment assessment;
  assessment.program_version = version();
  assessment.assessed_on = request.date;
  assessment.clip = clip_facts(request, observation);
  if (measure.athlete) {
    assessment.athlete_id = measure.athlete->id;
    assessment.athlete_name = measure.athlete->name;
    assessment.setup = setup_facts(measure.athlete->setup);
  }
  std::vector<kinematics::Warning> warnings;
  if (measured.side) {
    assessment.side = &*measured.side;
    warnings = measured.side->warnings;
    if (request.explain) {
      assessment.explanation = LINTEL_TRY(explain_measurement(
          measure.athlete.value_or(body::Athlete{}), measure.stature_known, *measured.side, work));
    }
  }
  if (measured.front) {
    assessment.front = &measured.front->measurement;
    warnings = measured.front->warnings;
  }

  AssessOutcome outcome;
  outcome.assessment_json = formats::write_assessment_json(assessment);
  if (folder) {
    Writer writer(request, observation, assessment, *folder, work);
    LINTEL_TRY_VOID(writer.write(outcome.assessment_json));
    LINTEL_TRY_VOID(folder->commit());
    outcome.output = *request.output;
  }
  outcome.summary = summarize(assessment, warnings);
  return outcome;
}

}  // namespace

Result<Observation> observe_for_assessment(const AssessRequest& request, const WorkContext& work) {
  const MeasureRequest measure = LINTEL_TRY(measure_request(request));
  ObserveRequest observe = request.observe;
  if (measure.stature_known) observe.stature = measure.athlete->stature;
  observe.disc_diameter = measure.disc_diameter;
  Observation observation = LINTEL_TRY(observe_clip(observe, work));
  release_freed_memory();
  return observation;
}

Result<AssessOutcome> assess_observation(const AssessRequest& request, const Observation& kept,
                                         const WorkContext& work) {
  MeasureRequest measure = LINTEL_TRY(measure_request(request));
  std::optional<ResultFolder> folder;
  if (request.output) folder.emplace(LINTEL_TRY(claim_folder(request)));
  if (request.corrections.points.empty()) {
    return assess_into(request, std::move(measure), kept, std::move(folder), work);
  }
  const Observation moved = LINTEL_TRY(corrected(kept, request.corrections));
  return assess_into(request, std::move(measure), moved, std::move(folder), work);
}

Result<AssessOutcome> assess_clip(const AssessRequest& request, const WorkContext& work) {
  MeasureRequest measure = LINTEL_TRY(measure_request(request));
  // The place for the results is claimed first: a long analysis must not end without one.
  std::optional<ResultFolder> folder;
  if (request.output) folder.emplace(LINTEL_TRY(claim_folder(request)));
  const Observation observation = LINTEL_TRY(observe_for_assessment(request, work));
  return assess_into(request, std::move(measure), observation, std::move(folder), work);
}

}  // namespace lintel::app
