// The main job: a clip and an athlete in, a folder of results out.
#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "app/observe.h"
#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"
#include "kinematics/corrections.h"

namespace lintel::app {

// The clip's own pictures once more, small and with every eighth standing alone, so that a player
// follows a hand on its position bar. Times of the pictures: exactly those of the measurement.
inline constexpr const char* kScreenCopy = "screen.mp4";

enum class Overwrite : std::uint8_t { No, Yes };
enum class PaperSize : std::uint8_t { A4, Letter };

struct AssessRequest {
  ObserveRequest observe;                        // the clip and how to look at it
  std::optional<std::filesystem::path> athlete;  // athlete.json; empty = usual proportions
  std::optional<std::filesystem::path> output;   // folder to make; empty = no files
  Overwrite overwrite = Overwrite::No;
  bool explain = true;  // the posture model; false = measuring alone
  bool overlay_video = true;
  bool key_frames = true;
  bool athlete_page = true;
  PaperSize paper = PaperSize::A4;
  bool imperial = false;
  std::optional<Angle> vertical_roll;   // clockwise turn of the picture, if known (image vertical)
  std::optional<double> focal_px;       // of the source picture, if known
  std::optional<Length> disc_diameter;  // overrides the athlete's
  std::string date;                     // ISO 8601, of the assessment
  // What a person corrected; only assess_observation looks at points, events, vertical and disc.
  kinematics::Corrections corrections;
  bool curves_json = false;  // curves.json too, for the pages of the web app
  bool screen_copy = false;  // screen.mp4 too: kScreenCopy
};

struct AssessOutcome {
  std::string summary;          // some lines for a person, with cautions
  std::string assessment_json;  // the document that assessment.json holds
  std::optional<std::filesystem::path> output;
};

// Errors: those of observe_clip and of the athlete file; Unsupported when the camera stands too far
// off for a measurement (with advice how to film again); Conflict when the output folder exists;
// Io. Files appear only when all of them are complete.
Result<AssessOutcome> assess_clip(const AssessRequest& request, const WorkContext& work);

// The two halves of it: the networks' part, whose points can be kept, and all that follows from the
// points, with the request's corrections applied. Errors: as above.
Result<Observation> observe_for_assessment(const AssessRequest& request, const WorkContext& work);
Result<AssessOutcome> assess_observation(const AssessRequest& request, const Observation& kept,
                                         const WorkContext& work);

}  // namespace lintel::app
