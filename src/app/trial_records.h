// What trials, hand-offs and the worker share about the record of a trial.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"
#include "formats/assessment_reader.h"
#include "formats/trial_json.h"
#include "store/job_queue.h"
#include "store/records.h"

namespace lintel::app {

// Errors: Internal when the record holds no trial document.
Result<formats::TrialDocument> trial_of(const store::Record& record);

// A trial of this visit and the job that measures it.
struct NewTrial {
  store::Record visit;
  formats::TrialEdit edit;
  formats::StoredFile clip;
};
struct TrialAndJob {
  store::Record trial;
  store::Job job;
};
// With the row of the audit trail.
Result<TrialAndJob> add_trial(store::Transaction& t, const Practice& practice, const Caller& caller,
                              const NewTrial& trial);
Result<store::Job> add_measuring_job(store::Transaction& t, const store::Record& trial,
                                     const char* kind, const store::Author& author);
// Who acts when a worker or a hand-off does something in the name of a person.
Caller on_behalf_of(std::string_view person, std::string_view organization, const char* way);
// Jobs of the trial that have not ended are cancelled.
Result<void> cancel_open_jobs(store::Transaction& t, const store::Record& trial,
                              std::string_view now);

// Number of an assessment at the bottom, over completed repetitions.
struct TrialNumber {
  std::string measure, label, unit;  // "trunk_inclination", "trunk inclination", "deg"
  Estimate value;                    // in the unit
};
std::vector<TrialNumber> trial_numbers(const formats::StoredAssessment& assessment);

// What the newest measurement of a trial found; nothing where there is none that can be read.
std::optional<formats::StoredAssessment> stored_assessment(const Practice& practice,
                                                           const formats::TrialDocument& trial);

// The columns beside a trial's document.
store::IndexRows trial_index(std::string_view visit_document,
                             const std::vector<TrialNumber>& numbers);

}  // namespace lintel::app
