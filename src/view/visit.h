// Everything that is known of one athlete at one visit, gathered for the writers of pages. Nothing
// is owned; what is null or empty is left out of the pages, which then say so where it matters.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "body/athlete.h"
#include "body/test_outcome.h"
#include "plan/drill.h"
#include "plan/follow_up.h"
#include "plan/load_guidance.h"
#include "plan/plan.h"
#include "reasoning/finding.h"
#include "reasoning/setups_to_film.h"
#include "reasoning/test_choice.h"
#include "view/assessment.h"

namespace lintel::view {

struct Visit {
  std::string program_version;      // "0.1.0"
  std::string issued_on;            // ISO 8601 date: the pages' date
  std::string practitioner;         // name for the pages; may be empty
  std::vector<std::string> intake;  // what was asked and answered, a line each; may be empty
  const body::Athlete* athlete = nullptr;
  const Assessment* assessment = nullptr;
  const body::RecordOutcome* tests = nullptr;
  std::string tests_on;  // ISO 8601 date of the tests
  const reasoning::Findings* findings = nullptr;
  const reasoning::TestChoice* next_test = nullptr;
  std::span<const reasoning::SetupToFilm> setups_to_film;
  const plan::Plan* plan = nullptr;
  std::span<const plan::Drill> library;  // drawings, steps and cautions of the planned drills
  const plan::LoadAdvice* loads = nullptr;
  const plan::FollowUp* follow_up = nullptr;
  const plan::AthleteFollowed* followed = nullptr;  // what the follow-up was about: names, targets
};

}  // namespace lintel::view
