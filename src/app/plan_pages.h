// The printed pages of a plan: the athlete's handout, the practitioner's record, the letter.
#pragma once

#include <string>
#include <vector>

#include "app/findings_use_case.h"
#include "app/plan_use_case.h"
#include "app/result_folder.h"
#include "body/test_outcome.h"
#include "plan/plan.h"

namespace lintel::app {

struct PlanPagesInput {
  const body::Athlete* athlete = nullptr;
  const plan::Plan* plan = nullptr;
  const std::vector<plan::Drill>* drills = nullptr;  // of the library
  const AthleteFindings* found = nullptr;            // null at a red flag
  const body::RecordOutcome* tests = nullptr;        // may be null
  std::string tests_on;                              // ISO 8601; empty = day not known
  std::string issued_on;                             // ISO 8601
  std::string practitioner;
  LetterWords letter;
  PaperSize paper = PaperSize::A4;
  bool imperial = false;
};

// handout.pdf, record.pdf, letter.pdf. Errors: those of report/, Io.
Result<void> write_plan_pages(const PlanPagesInput& input, const ResultFolder& folder);

}  // namespace lintel::app
