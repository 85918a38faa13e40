// Trials: the clips of a visit, measured by jobs; what came of them. Texts in and out are JSON of
// the API (docs/api.md).
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"
#include "store/job_queue.h"
#include "store/records.h"

namespace lintel::app {

inline constexpr const char* kMeasureClip = "measure_clip";    // from the pictures
inline constexpr const char* kMeasureAgain = "measure_again";  // from the kept points

struct TrialAnswer {
  std::string id, json;  // the record, with its newest job
  std::int64_t version = 1;
};

// The clip of a complete upload, or one that the organization has already (by its digest). Errors
// of all: those of access; NotFound; Invalid with every fault of the document.
Result<TrialAnswer> make_trial(Practice& practice, const Caller& caller, std::string_view visit,
                               std::string_view body);
Result<std::string> list_trials(Practice& practice, const Caller& caller, std::string_view visit,
                                const store::Page& page);
Result<TrialAnswer> find_trial(Practice& practice, const Caller& caller, std::string_view trial);
// The edit of a person: a new version of the record. Corrections, setup, person or vertical that
// differ make a job, and so does an edit that changes nothing where the visit's tests or the
// athlete's data are newer than the measurement; open jobs of the trial are cancelled. Errors:
// Conflict for a version that is not the newest.
Result<TrialAnswer> edit_trial(Practice& practice, const Caller& caller, std::string_view trial,
                               std::int64_t expected_version, std::string_view body,
                               std::string reason);

// A file of the trial, with where its bytes are. version: 0 = as it is now; else what that version
// of the record had. Errors: NotFound, which says what the trial's state is.
struct TrialFile {
  std::string name, media_type;
  std::filesystem::path path;
  std::int64_t version = 0;  // of the record
};
Result<TrialFile> trial_file(Practice& practice, const Caller& caller, std::string_view trial,
                             std::string_view name, std::int64_t version = 0);
Result<TrialFile> trial_clip(Practice& practice, const Caller& caller, std::string_view trial);
// "lintel-assessment-1" with the version of the record that it is of.
Result<TrialAnswer> trial_assessment(Practice& practice, const Caller& caller,
                                     std::string_view trial, std::int64_t version = 0);

// Two trials against each other at the bottom: "lintel-comparison-1".
Result<std::string> compare_trials(Practice& practice, const Caller& caller, std::string_view a,
                                   std::string_view b);

// ---- Jobs as people see them
struct JobAnswer {
  std::string json;
  store::JobState state = store::JobState::Waiting;
  std::string changed_at;
};
Result<std::string> list_jobs(Practice& practice, const Caller& caller, std::string_view state,
                              std::string_view trial, const store::Page& page);
Result<JobAnswer> find_job(Practice& practice, const Caller& caller, std::string_view job);
Result<JobAnswer> cancel_job(Practice& practice, const Caller& caller, std::string_view job);
Result<JobAnswer> retry_job(Practice& practice, const Caller& caller, std::string_view job);

}  // namespace lintel::app
