// Findings of one athlete: tests and video joined, what to film and to test next, what to work on.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/seen_squat.h"
#include "base/progress.h"
#include "body/athlete.h"
#include "reasoning/finding.h"
#include "reasoning/setups_to_film.h"
#include "reasoning/test_choice.h"

namespace lintel::app {

struct FindingsRequest {
  std::filesystem::path athlete;  // athlete.json
  SeenSource seen;
  std::optional<std::filesystem::path> overrulings;  // "lintel-overrulings-1"
  int draws = 10000;
  std::uint64_t seed = 1;
  int threads = 0;  // 0 = one for each core
};

// Everything as data, for whoever builds on it (a plan, a record).
struct AthleteFindings {
  body::Athlete athlete;
  SeenSquat seen;
  reasoning::ExplainResult explained;  // samples kept
  reasoning::Findings findings;        // with the practitioner's word
  std::vector<reasoning::SetupToFilm> setups;
  reasoning::TestChoice tests;
  std::vector<reasoning::Target> targets;
  std::vector<std::string> remarks;  // warning signs, overrulings of findings that are gone
};
// Where a warning sign was noted (plan.h, triage) no setup to film is given. Errors: those of the
// files (Invalid with every fault, its line and field; Conflict when the overrulings are of another
// athlete), Invalid for numbers out of range, Cancelled.
Result<AthleteFindings> compute_findings(const FindingsRequest& request, const WorkContext& work);

// The same for what is in hand already.
struct FindingsSubject {
  body::Athlete athlete;  // tests filled in
  SeenSquat seen;
  std::vector<reasoning::Overruling> overrulings;
};
struct FindingsOptions {
  int draws = 10000;
  std::uint64_t seed = 1;
  int threads = 0;  // 0 = one for each core
};
Result<AthleteFindings> compute_findings(FindingsSubject subject, const FindingsOptions& options,
                                         const WorkContext& work);
// What the last step does: the practitioner's word, targets and remarks upon what was computed
// without it.
void apply_overrulings(const std::vector<reasoning::Overruling>& overrulings,
                       AthleteFindings& found);

// The overrulings of a file. Errors: Conflict when it is of another athlete; those of the file.
Result<std::vector<reasoning::Overruling>> read_overrulings(const std::filesystem::path& file,
                                                            const std::string& athlete_id);

struct FindingsOutcome {
  std::string text;  // for a person, with the cautions
  std::string json;  // "lintel-findings-1"
};
Result<FindingsOutcome> findings_of_athlete(const FindingsRequest& request,
                                            const WorkContext& work);

std::string findings_text(const AthleteFindings& found);
std::string findings_json(const AthleteFindings& found);  // "lintel-findings-1"

}  // namespace lintel::app
