// `lintel progress`: how an athlete gets on, from plan and log.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "app/assess.h"
#include "app/progress_followed.h"
#include "app/text_file.h"
#include "base/date.h"
#include "base/result.h"
#include "formats/progress_json.h"
#include "plan/history.h"

namespace lintel::app {

struct ProgressRequest {
  std::filesystem::path plan_or_athlete;           // lintel-plan-1 or lintel-athlete-1
  std::filesystem::path history;                   // lintel-history-1
  std::optional<std::filesystem::path> athlete;    // beside a plan: pass lines by the body's size
  std::optional<std::filesystem::path> protocols;  // folder of own protocols
  std::string date;                                // ISO 8601
  double bar_mass = 20.0;                          // of the lightest full-size bar at hand [kg]
  std::optional<int> weeks;                        // of loads; else to the end of the plan, or 6
  // The record for the file as PDF; needs the athlete's file. A file of that name stays unless it
  // may be replaced.
  std::optional<std::filesystem::path> record;
  ExistingFile existing = ExistingFile::Keep;
  std::string practitioner;  // for the record; may be empty
  PaperSize paper = PaperSize::A4;
  bool imperial = false;
};

struct ProgressOutcome {
  std::string text;  // with the cautions
  std::string json;  // lintel-progress-1
};

// Errors: those of the files, each with every fault (file, line, field); Invalid for the date, for
// a file that is neither plan nor athlete, or for a record without an athlete; Conflict when the
// log is of another athlete or the record's file exists.
Result<ProgressOutcome> report_progress(const ProgressRequest& request);

// The same for what is in hand already. Errors: those of plan::follow_up.
struct ProgressQuestion {
  std::string athlete_id, athlete_name;
  Date today;
  double bar_mass = 20.0;  // [kg]
  std::optional<int> weeks;
};
Result<formats::ProgressDocument> progress_of(const FollowedSources& sources,
                                              const plan::History& history,
                                              const ProgressQuestion& question);

}  // namespace lintel::app
