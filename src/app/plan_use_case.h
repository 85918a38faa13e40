// The plan of one athlete: findings to drills, sessions, goals and re-tests; files for people and
// programs.
#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/assess.h"
#include "app/findings_use_case.h"
#include "app/seen_squat.h"
#include "base/progress.h"
#include "base/result.h"
#include "base/units.h"
#include "body/test_outcome.h"
#include "plan/history.h"
#include "plan/plan.h"

namespace lintel::app {

// Of the letter to a colleague; what is empty the letter fills from what is known.
struct LetterWords {
  std::vector<std::string> recipient;  // a line each
  std::string reason;                  // why the athlete came
  std::string request;                 // what is asked of the recipient
};

struct PlanRequest {
  std::filesystem::path athlete;  // athlete.json
  SeenSource seen;
  std::optional<std::filesystem::path> tests;        // lintel-tests-1: fills in the athlete's tests
  std::optional<std::filesystem::path> protocols;    // folder of own protocols
  std::optional<std::filesystem::path> overrulings;  // lintel-overrulings-1
  std::optional<std::filesystem::path> history;      // lintel-history-1: steps and response so far
  double minutes = 15.0;                             // of one session
  int sessions = 5;                                  // a week
  std::optional<int> weeks;                          // 8 unless a goal date is given
  std::optional<std::string> goal_date;              // ISO 8601; excludes `weeks`
  std::optional<Angle> goal;                         // trunk inclination wanted at the bottom
  std::vector<std::string> equipment;                // codes, see plan/drill.h
  std::string from;                                  // ISO 8601, first day
  std::string practitioner;                          // for the pages; may be empty
  LetterWords letter;
  std::string made_at;  // ISO 8601, UTC, for the calendars; empty = start of the first day
  std::optional<std::filesystem::path> output;  // folder to make; empty = no files
  Overwrite overwrite = Overwrite::No;
  PaperSize paper = PaperSize::A4;
  bool imperial = false;
  int draws = 10000;
  std::uint64_t seed = 1;
  int threads = 0;  // 0 = one for each core
};

struct PlanOutcome {
  std::string text;                             // for a person, with the cautions
  std::string json;                             // "lintel-plan-1"
  std::optional<std::filesystem::path> output;  // with plan.json, plan.txt, pages, calendars
};

// At a red flag no findings are computed and nothing is prescribed: the plan says whom to see.
// Errors: those of the files (every fault with line and field); Invalid for numbers, dates and
// equipment (field, what is allowed); Conflict when the folder exists; Cancelled; Io. Files appear
// only when all of them are complete.
Result<PlanOutcome> plan_for_athlete(const PlanRequest& request, const WorkContext& work);

// ---- The same for what is in hand already

// A plan with what its pages show. Not to be copied: the outcome points into protocols and record.
struct PlanBasis {
  body::Athlete athlete;  // tests filled in
  std::vector<body::TestProtocol> protocols;
  std::vector<plan::Drill> drills;  // archived ones are read by, but not planned
  std::optional<body::TestRecord> record;
  std::optional<body::RecordOutcome> outcome;
  bool of_this_visit = false;  // the record; else it is what the athlete carried

  PlanBasis() = default;
  PlanBasis(const PlanBasis&) = delete;
  PlanBasis& operator=(const PlanBasis&) = delete;
  PlanBasis(PlanBasis&&) = default;
  PlanBasis& operator=(PlanBasis&&) = default;
};
// Errors: those of body::evaluate_record.
struct PlanLibrary {
  std::vector<body::TestProtocol> protocols;
  std::vector<plan::Drill> drills;
};
Result<PlanBasis> plan_basis(body::Athlete athlete, PlanLibrary library,
                             std::optional<body::TestRecord> record);

struct MadePlan {
  PlanBasis basis;
  plan::Plan plan;
  std::optional<AthleteFindings> found;  // none at a red flag
};
// `find` computes the findings of the athlete with tests (or remembers them); it is not called at a
// red flag. Of the request the files are not used.
using FindFindings = std::function<Result<AthleteFindings>(const body::Athlete&)>;
Result<MadePlan> make_plan_of(const PlanRequest& request, PlanBasis basis,
                              const std::optional<plan::History>& history,
                              const FindFindings& find);

// plan.json, plan.txt, handout.pdf, record.pdf, letter.pdf, retests.ics, sessions.ics into
// request.output; calendars only where there is something in them.
Result<void> write_plan_files(const PlanRequest& request, const MadePlan& made);

}  // namespace lintel::app
